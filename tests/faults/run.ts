import { runLongForm, tableText } from '#tests/faults/long-form.ts'

/**
 * `npm run faults`: every suite of faults in its long form, then one table of what was counted. A new suite needs a
 * line here and a call of `keepTally` where it ends; it asks `isNightly` (nightly.ts) how long it should run. Names of
 * suites as arguments run only those.
 */
await runLongForm(
  [
    'tests/faults',
    'tests/siege',
    'tests/law',
    'tests/loopback/refused.test.ts',
    'tests/api/fuzz-procedures.test.ts',
    'tests/exchange/foreign-fuzz.test.ts',
  ],
  (tallies) =>
    tableText(
      tallies.flatMap(({ title, counts, failed }) => [
        [title, ''],
        ...Object.entries(counts).map(([what, count]) => [`  ${what}`, count.toLocaleString('en-US')]),
        ['  lost, half done or unclear', String(failed)],
      ]),
    ),
)
