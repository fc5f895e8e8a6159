import type { ReactNode } from 'react'
import { uMissOf } from '#core/evidence/sum-tests.ts'
import type { GroupOutcome } from '#core/findings/weigh-in.ts'
import type { Finding } from '#core/findings/finding.ts'
import { offeredFix } from '#core/findings/offered-fix.ts'
import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import { bestNextPoint } from '#core/line/next-point.ts'
import { predictWeight } from '#core/line/predict.ts'
import { expanded } from '#core/words/coverage.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { type Measures, ratio, useMeasures, useSay } from '#renderer/parts/format.ts'
import { SeverityMark, TrustMark } from '#renderer/parts/marks.tsx'
import { fixHref, fixWords } from '#renderer/parts/offered-fix.ts'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'

const width = 300
const height = 150
const margin = { left: 8, right: 8, top: 8, bottom: 18 }
const steps = 24

/**
 * The line of the rows as they are typed, with its 95 % band, its points and the group's limit; the line before it
 * dashed.
 */
function LiveLine({ outcome: { line, before, after } }: { outcome: GroupOutcome }) {
  const { weight, pressure } = useMeasures()
  const { limitLb } = after
  const shown = line ?? before.current
  if (!shown) return null
  const points = line?.points ?? []
  const toPsi =
    Math.max(
      20,
      ...shown.points.map(({ x }) => x),
      ...points.map(({ x }) => x),
      (limitLb - shown.fit.a) / shown.fit.b,
    ) * 1.08
  const toLb = Math.max(limitLb, ...points.map(({ y }) => y)) * 1.1
  const x = (psi: number) => margin.left + (psi / toPsi) * (width - margin.left - margin.right)
  const y = (lb: number) => height - margin.bottom - (Math.max(0, lb) / toLb) * (height - margin.top - margin.bottom)
  const along = Array.from({ length: steps + 1 }, (_, i) => (toPsi * i) / steps)
  const band = line && along.map((psi) => ({ psi, ...predictWeight(line.line, psi) }))
  const edge = (side: 1 | -1) => (band ?? []).map(({ psi, value, u }) => `${x(psi)},${y(value + side * expanded(u))}`)
  const straight = ({ fit: { a, b } }: NonNullable<typeof shown>) => `M${x(0)} ${y(a)}L${x(toPsi)} ${y(a + b * toPsi)}`
  const words = line
    ? phrase('Line of {points} points, {estimate} at 0 and {limitLb} at {text}', {
        points: points.length,
        estimate: weight.estimate(line.fit.a),
        limitLb: weight.estimate(limitLb),
        text: pressure.text((limitLb - line.fit.a) / line.fit.b),
      })
    : phrase('The line in use')
  return (
    <svg
      className="visit-line"
      viewBox={`0 0 ${width} ${height}`}
      width={width}
      height={height}
      role="img"
      aria-label={words}
    >
      <path
        d={`M${margin.left} ${margin.top}V${height - margin.bottom}H${width - margin.right}`}
        className="visit-axis"
      />
      <path d={`M${margin.left} ${y(limitLb)}H${width - margin.right}`} className="visit-limit" />
      <text x={margin.left + 4} y={y(limitLb) - 4}>
        {phrase('limit {limitLb}', { limitLb: weight.text(limitLb) })}
      </text>
      <text x={width - margin.right} y={height - 4} textAnchor="end">
        {pressure.text(toPsi)}
      </text>
      {band && <polygon points={[...edge(1), ...edge(-1).reverse()].join(' ')} className="visit-band" />}
      {line && before.current && <path d={straight(before.current)} className="visit-before" />}
      <path d={straight(shown)} className={line ? 'visit-now' : 'visit-before'} />
      {points.map(({ x: psi, y: lb }) => (
        <circle key={`${psi} ${lb}`} cx={x(psi)} cy={y(lb)} r={3.4} className="visit-point" />
      ))}
    </svg>
  )
}

interface GroupOutcomeProps {
  outcome: GroupOutcome
  /** What each judged row is called on the screen. */
  rowNames: readonly string[]
  /** How the rows are chosen, where that is done for each group. */
  children?: ReactNode
}

/** An improvement below this share is not worth another run over the scale. */
const worthwhile = 0.9

/** The load that would make the calibration in hand surest at the limit. */
function NextLoad({ line, limitLb }: { line: CalibratedLine; limitLb: number }) {
  const { weight, pressure } = useMeasures()
  const { fit, points } = line
  const pressures = points.map(({ x }) => x)
  const limitPsi = (limitLb - fit.a) / fit.b
  const [point] = points
  if (!point || !(fit.b > 0) || limitPsi <= Math.min(...pressures)) return null
  const varLb2 = point.uy ** 2 + (fit.b * point.ux) ** 2
  const { psi, uNowLb, uAfterLb } = bestNextPoint(fit, Math.min(...pressures), limitPsi, varLb2)
  if (uAfterLb > worthwhile * uNowLb) return null
  return (
    <p className="quiet">
      {phrase(
        'One more load teaches most near {psi} ({estimate}): these rows alone would tell a weight at the limit to {uAfterLb}, now {uNowLb}.',
        {
          psi: pressure.text(psi),
          estimate: weight.estimate(fit.a + fit.b * psi),
          uAfterLb: weight.plusMinus(uAfterLb),
          uNowLb: weight.plusMinus(uNowLb),
        },
      )}
    </p>
  )
}

function Fit({ outcome: { line, after, problem } }: { outcome: GroupOutcome }) {
  const { weight, slope } = useMeasures()
  const say = useSay()
  if (problem !== null)
    return (
      <p className="visit-problem" role="status">
        {sayLineProblem(problem, say)}
      </p>
    )
  if (!line) return null
  const { chi2, chi2Limit95, a, b } = line.fit
  return (
    <>
      <p>
        {weight.estimate(a)} + <strong>{slope.text(b)}</strong>
        {after.uLimitLb !== null &&
          phrase(', {uLimitLb} at the limit by all that was weighed (95 %)', {
            uLimitLb: weight.plusMinus(after.uLimitLb),
          })}
        <br />
        <span className="quiet">
          {chi2Limit95 === null
            ? phrase('Two points: the line cannot check itself.')
            : phrase('χ² {chi2} of {chi2Limit95}: the points {chi22}.', {
                chi2: ratio(chi2),
                chi2Limit95: ratio(chi2Limit95),
                chi22: chi2 <= chi2Limit95 ? phrase('agree') : phrase('disagree'),
              })}
        </span>
      </p>
      <NextLoad line={line} limitLb={after.limitLb} />
    </>
  )
}

/** The way to the date of a mounting that is likely wrong: the rows wait here meanwhile. */
function MountingFix({ finding, of }: { finding: Finding; of: GroupOutcome['history'] }) {
  const measures = useMeasures()
  const fix = offeredFix(finding, { ...of, circuit: null, ticketId: null })
  return (
    fix?.what === 'mounting' && (
      <>
        {' '}
        <a href={fixHref(fix)}>{fixWords(fix, measures)}</a>
      </>
    )
  )
}

/** The first group of which the rows make a line, in a sentence. */
export function exampleOf(outcomes: readonly GroupOutcome[], { weight }: Measures): string | null {
  for (const { history, line, after } of outcomes)
    if (line && after.uLimitLb !== null)
      return phrase(
        '{unit} {group}: {points, plural, one {# row} other {# rows}} make its line, and a weight at its limit of {limitLb} is then good to {uLimitLb}.',
        {
          unit: history.unit,
          group: history.group,
          points: line.points.length,
          limitLb: weight.text(after.limitLb),
          uLimitLb: weight.plusMinus(after.uLimitLb),
        },
      )
  return null
}

/** What the rows make of one group, while they are typed or chosen. */
export function GroupOutcomeView({ outcome, rowNames, children }: GroupOutcomeProps) {
  const { weight } = useMeasures()
  const say = useSay()
  const { history, before, after, asFound } = outcome
  // Ids below zero stand for what is not stored yet: -1 is the first row.
  const sums = after.standings
    .flatMap((standing) => standing.sums)
    .filter(({ ticketId }) => ticketId < 0)
    .toSorted((a, b) => b.ticketId - a.ticketId)
  return (
    <Section className="visit-group" title={`${history.unit} ${history.group}`}>
      <p className="visit-trust">
        <TrustMark trust={before.trust} />{' '}
        {before.trust !== after.trust && (
          <>
            <span aria-hidden="true">→</span>
            <span className="unheard"> {phrase('becomes')} </span> <TrustMark trust={after.trust} />
          </>
        )}
      </p>
      {children}
      <LiveLine outcome={outcome} />
      <Fit outcome={outcome} />
      {asFound.length > 0 && (
        <p>
          {phrase('As found, ticket less line in use: {asFound}', {
            asFound: asFound
              .map(({ row, missLb, uLb }) => `${rowNames[row]}: ${weight.difference(missLb)} ${weight.plusMinus(uLb)}`)
              .join('; '),
          })}
        </p>
      )}
      {sums.length > 0 && (
        <p>
          {phrase('On one platform, ticket less what both lines add up to: {sums}', {
            sums: sums
              .map(
                (test) =>
                  `${rowNames[-1 - test.ticketId]}: ${weight.difference(test.missLb)} ${weight.plusMinus(uMissOf(test))}`,
              )
              .join('; '),
          })}
        </p>
      )}
      {after.findings.length > 0 && (
        <ul
          className="bare visit-findings"
          aria-label={phrase('What would be found of {unit} {group}', { unit: history.unit, group: history.group })}
        >
          {after.findings.map((finding) => (
            <li key={`${finding.code} ${sayFinding(finding, say).message}`}>
              <SeverityMark severity={finding.severity} /> {sayFinding(finding, say).message}
              <MountingFix finding={finding} of={history} />
            </li>
          ))}
        </ul>
      )}
    </Section>
  )
}
