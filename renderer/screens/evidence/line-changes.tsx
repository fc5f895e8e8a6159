import type { Corrected } from '#core/contracts/evidence.ts'
import { ratio, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'

const agreement = (chi2: number, limit: number | null): string =>
  limit === null
    ? phrase('two points, no check')
    : phrase('χ² {chi2} of {limit}, {chi22}', {
        chi2: ratio(chi2),
        limit: ratio(limit),
        chi22: chi2 <= limit ? phrase('agree') : phrase('disagree'),
      })

/** The lines that rest on a correction, before and after. */
export function LineChanges({ outcome: { changed, lines }, tense }: { outcome: Corrected; tense: 'would' | 'did' }) {
  const { weight, slope, times } = useMeasures()
  if (!changed) return <p className="quiet">{phrase('This is what is stored already.')}</p>
  if (lines.length === 0)
    return (
      <p>
        {phrase('No line changes. Weights and checks that use it {tense}.', {
          tense: tense === 'would' ? phrase('will follow') : phrase('have followed'),
        })}
      </p>
    )
  const line = ({ a, b, chi2, chi2Limit95 }: Corrected['lines'][number]['after']) => (
    <>
      {weight.estimate(a)} + {slope.text(b)}
      <br />
      <span className="quiet">{agreement(chi2, chi2Limit95)}</span>
    </>
  )
  return (
    <SheetTable
      title={phrase('Lines that {tense} refitted; every weight and check by them follows.', {
        tense: tense === 'would' ? phrase('would be') : phrase('were'),
      })}
      rows={lines}
      keyOf={({ unit, group, calibratedAt }) => `${unit} ${group} ${calibratedAt}`}
      columns={[
        [
          phrase('Line'),
          ({ unit, group, calibratedAt }) => (
            <>
              {unit} {group}
              <br />
              <span className="quiet">{times.day(calibratedAt)}</span>
            </>
          ),
        ],
        [phrase('Before'), ({ before }) => (before ? line(before) : phrase('no line'))],
        [phrase('After'), ({ after }) => line(after)],
        [
          phrase('At the limit'),
          ({ atLimitLb, limitLb }) =>
            atLimitLb !== null && (
              <>
                {weight.difference(atLimitLb)} {weight.symbol}
                <br />
                <span className="quiet">{phrase('of {limitLb}', { limitLb: weight.text(limitLb) })}</span>
              </>
            ),
          'figure',
        ],
      ]}
    />
  )
}
