import type { Corrected } from '#core/contracts/evidence.ts'
import { ratio, useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'

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
  const line = ({ a, b, chi2, chi2Limit95 }: Corrected['lines'][number]['after']) => (
    <>
      {weight.estimate(a)} + {slope.text(b)}
      <br />
      <span className="quiet">{agreement(chi2, chi2Limit95)}</span>
    </>
  )
  return (
    <SheetTable
      title={`Lines that ${tense === 'would' ? 'would be' : 'were'} refitted; every weight and check by them follows.`}
      rows={lines}
      keyOf={({ unit, group, calibratedAt }) => `${unit} ${group} ${calibratedAt}`}
      columns={[
        [
          'Line',
          ({ unit, group, calibratedAt }) => (
            <>
              {unit} {group}
              <br />
              <span className="quiet">{times.day(calibratedAt)}</span>
            </>
          ),
        ],
        ['Before', ({ before }) => (before ? line(before) : 'no line')],
        ['After', ({ after }) => line(after)],
        [
          'At the limit',
          ({ atLimitLb, limitLb }) =>
            atLimitLb !== null && (
              <>
                {weight.difference(atLimitLb)} {weight.symbol}
                <br />
                <span className="quiet">of {weight.text(limitLb)}</span>
              </>
            ),
          'figure',
        ],
      ]}
    />
  )
}
