import { type ScaleStanding, scaleStandings } from '#core/evidence/scales/scale-standing.ts'
import { estimatesOn } from '#core/store/assessment.ts'
import { readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { expanded } from '#core/words/coverage.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { crossCheckWords, tiedWords } from '#core/words/sentences/scales.ts'
import { count } from '#core/words/text.ts'
import { type Command, asOfOption, askedMoment, dbOption, withStore } from '#electron/command/command.ts'

/** One scale as the document has it. bias_percent: what it shows too much; u_percent: standard uncertainty of that. */
const scaleRow = (
  { scaleId, gain, u, verdict, weighings, groups, since, tiedTo }: ScaleStanding,
  nameOf: (scaleId: number) => string,
) => ({
  scale: nameOf(scaleId),
  bias_percent: 100 * gain,
  u_percent: 100 * u,
  verdict,
  weighings,
  groups,
  since: since === null ? null : toStoredInstant(since),
  // Scales whose difference from this one is not known to within a tolerance.
  tied_to: tiedTo.map(nameOf),
})
type ScaleRow = ReturnType<typeof scaleRow>

function rowText(
  { scale, bias_percent, u_percent, verdict, weighings, groups, since }: ScaleRow,
  width: number,
  zone: string,
) {
  const bias =
    verdict === 'not known'
      ? ''
      : `${bias_percent < 0 ? '' : '+'}${bias_percent.toFixed(2)} ± ${expanded(u_percent).toFixed(2)} %`
  const from =
    since === null
      ? 'never weighed on with a reading'
      : `${count(weighings, 'weighing')} of ${count(groups, 'group')} since ${dayOf(fromStoredInstant(since), zone)}`
  return `${scale.padEnd(width)}  ${bias.padEnd(15)}  ${verdict.padEnd(17)}  ${from}`
}

/** Says of every scale by how much it weighs too heavy or too light, and how sure that is. */
export const scalesCommand: Command = {
  name: 'scales',
  summary: 'Say of every scale how far off it weighs, how sure that is, and which two to compare next.',
  arguments: [],
  options: { db: dbOption, 'as-of': asOfOption },
  run: (input) =>
    withStore(input.text('db'), async (store) => {
      const rules = await readHouseRules(store.db)
      const { zone } = rules
      const facts = readScales(store)
      const nameOf = (scaleId: number) => facts.get(scaleId)?.name ?? ''
      const estimates = await estimatesOn(store, rules, askedMoment(input, zone))
      const { scales, crossCheck } = scaleStandings(facts.values(), estimates, rules)
      const rows = scales
        .map((standing) => scaleRow(standing, nameOf))
        .sort((one, other) => (one.scale < other.scale ? -1 : 1))
      const width = Math.max(0, ...rows.map(({ scale }) => scale.length))
      const closing = [
        ...tiedWords(rows.map(({ scale, tied_to }) => ({ scale, tiedTo: tied_to }))),
        ...(crossCheck
          ? [
              crossCheckWords({
                scales: [nameOf(crossCheck.scaleIds[0]), nameOf(crossCheck.scaleIds[1])],
                uNowPercent: 100 * crossCheck.uNow,
                uAfterPercent: 100 * crossCheck.uAfter,
              }),
            ]
          : []),
      ]
      return {
        document: rows,
        text:
          rows.length === 0
            ? 'No scale is recorded.'
            : [...rows.map((row) => rowText(row, width, zone)), ...closing].join('\n'),
      }
    }),
}
