import { Checkbox } from '@mantine/core'
import type { GroupOutcome } from '#core/findings/weigh-in.ts'
import { ratio, useMeasures } from '#renderer/parts/format.ts'
import { SeverityMark } from '#renderer/parts/severity-mark.tsx'
import { TrustMark } from '#renderer/parts/trust-mark.tsx'
import { LiveLine } from './live-line.tsx'

interface GroupOutcomeProps {
  outcome: GroupOutcome
  /** What each judged row is called on the screen. */
  rowNumbers: readonly number[]
  /** Whether its rows make a calibration; null: they are too few to. */
  calibrates: boolean | null
  onCalibrate: (on: boolean) => void
}

function Fit({ outcome: { line, after, problem } }: { outcome: GroupOutcome }) {
  const { weight, slope } = useMeasures()
  if (problem !== null)
    return (
      <p className="visit-problem" role="status">
        {problem}
      </p>
    )
  if (!line) return null
  const { chi2, chi2Limit95, a, b } = line.fit
  return (
    <p>
      {weight.estimate(a)} + <strong>{slope.text(b)}</strong>
      {after.uLimitLb !== null && <>, {weight.plusMinus(after.uLimitLb)} at the limit (95 %)</>}
      <br />
      <span className="quiet">
        {chi2Limit95 === null
          ? 'Two points: the line cannot check itself.'
          : `χ² ${ratio(chi2)} of ${ratio(chi2Limit95)}: ${chi2 <= chi2Limit95 ? 'the points agree' : 'the points disagree'}.`}
      </span>
    </p>
  )
}

/** What the rows make of one group, while they are typed. */
export function GroupOutcomeView({ outcome, rowNumbers, calibrates, onCalibrate }: GroupOutcomeProps) {
  const { weight } = useMeasures()
  const { history, before, after, asFound } = outcome
  return (
    <section className="visit-group" aria-labelledby={`visit-group-${history.groupId}`}>
      <h2 id={`visit-group-${history.groupId}`}>
        {history.unit} {history.group}
      </h2>
      <p className="visit-trust">
        <TrustMark trust={before.trust} />{' '}
        {before.trust !== after.trust && (
          <>
            <span aria-hidden="true">→</span>
            <span className="unheard"> becomes </span> <TrustMark trust={after.trust} />
          </>
        )}
      </p>
      {calibrates === null ? (
        <p className="quiet">
          Two rows with its weight and pressure make a line; until then they check the one in use.
        </p>
      ) : (
        <Checkbox
          size="xs"
          label="Calibrate it with these rows"
          checked={calibrates}
          onChange={(event) => onCalibrate(event.currentTarget.checked)}
        />
      )}
      <LiveLine outcome={outcome} />
      <Fit outcome={outcome} />
      {asFound.length > 0 && (
        <p>
          As found, ticket less line in use:{' '}
          {asFound
            .map(
              ({ row, missLb, uLb }) => `row ${rowNumbers[row]}: ${weight.difference(missLb)} ${weight.plusMinus(uLb)}`,
            )
            .join('; ')}
        </p>
      )}
      {after.findings.length > 0 && (
        <ul className="visit-findings" aria-label={`What would be found of ${history.unit} ${history.group}`}>
          {after.findings.map((finding) => (
            <li key={`${finding.code} ${finding.message}`}>
              <SeverityMark severity={finding.severity} /> {finding.message}
            </li>
          ))}
        </ul>
      )}
    </section>
  )
}
