import type { Corrected } from '#core/contracts/evidence.ts'
import { ratio, useMeasures } from '#renderer/parts/format.ts'

const agreement = (chi2: number, limit: number | null): string =>
  limit === null
    ? 'two points, no check'
    : `χ² ${ratio(chi2)} of ${ratio(limit)}, ${chi2 <= limit ? 'agree' : 'disagree'}`

/** The lines that rest on a correction, before and after. */
export function LineChanges({ outcome: { changed, lines }, tense }: { outcome: Corrected; tense: 'would' | 'did' }) {
  const { weight, slope, times } = useMeasures()
  if (!changed) return <p className="quiet">This is what is stored already.</p>
  if (lines.length === 0)
    return <p>No line changes. Weights and checks that use it {tense === 'would' ? 'will follow' : 'have followed'}.</p>
  const text = ({ a, b }: Corrected['lines'][number]['after']) => (
    <>
      {weight.estimate(a)} + {slope.text(b)}
    </>
  )
  return (
    <table className="sheet-table">
      <caption className="evidence-caption">
        {tense === 'would' ? 'Lines that would be refitted' : 'Lines that were refitted'}; every weight and check by
        them follows.
      </caption>
      <thead>
        <tr>
          <th scope="col">Line</th>
          <th scope="col">Before</th>
          <th scope="col">After</th>
          <th scope="col" className="figure">
            At the limit
          </th>
        </tr>
      </thead>
      <tbody>
        {lines.map(({ unit, group, calibratedAt, before, after, atLimitLb, limitLb }) => (
          <tr key={`${unit} ${group} ${calibratedAt}`}>
            <th scope="row">
              {unit} {group}
              <br />
              <span className="quiet">{times.day(calibratedAt)}</span>
            </th>
            <td>
              {before ? (
                <>
                  {text(before)}
                  <br />
                  <span className="quiet">{agreement(before.chi2, before.chi2Limit95)}</span>
                </>
              ) : (
                'no line'
              )}
            </td>
            <td>
              {text(after)}
              <br />
              <span className="quiet">{agreement(after.chi2, after.chi2Limit95)}</span>
            </td>
            <td className="figure">
              {atLimitLb === null ? (
                ''
              ) : (
                <>
                  {weight.difference(atLimitLb)} {weight.symbol}
                  <br />
                  <span className="quiet">of {weight.text(limitLb)}</span>
                </>
              )}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}
