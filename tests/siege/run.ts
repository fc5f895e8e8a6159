import { runLongForm, tableText } from '#tests/faults/long-form.ts'

const number = (value: number) => value.toLocaleString('en-US')

/**
 * `npm run siege`: everything that attacks a fleet and its windows from outside, in its long form, then one table: how
 * often it was tried, how often something was lost, somebody let in, and a sentence wrong. A suite keeps its tally by
 * `keepTally`; what fails in a suite that tells nothing else apart counts as lost. Names of suites run only those.
 */
await runLongForm(
  [
    'tests/siege',
    'tests/api/tampered-file.test.ts',
    'tests/api/odd-weigh-ins.test.ts',
    'tests/api/allowed-places.test.ts',
    'tests/faults/disk.test.ts',
    'tests/loopback/refused.test.ts',
  ],
  (tallies) => {
    const rows = tallies.map(({ title, counts, failed, letIn = 0, misleading = 0 }) => ({
      title,
      tried: Object.values(counts).reduce((sum, count) => sum + count, 0),
      told: [failed, letIn, misleading],
    }))
    const sum = (of: readonly number[]) => of.reduce((total, each) => total + each, 0)
    return tableText([
      ['What was tried', 'times', 'lost', 'let in', 'wrong sentences'],
      ...rows.map(({ title, tried, told }) => [title, number(tried), ...told.map(number)]),
      [
        'All',
        number(sum(rows.map(({ tried }) => tried))),
        ...[0, 1, 2].map((column) => number(sum(rows.map(({ told }) => told[column] ?? 0)))),
      ],
    ])
  },
)
