import { expanded } from '#core/words/coverage.ts'
import { useQuery } from '@tanstack/react-query'
import type { ScaleList, ScaleRow } from '#core/contracts/scales.ts'
import { houseRuleDefinitions } from '#core/words/house-rules.ts'
import { crossCheckWords, tiedWords } from '#core/words/sentences/scales.ts'
import { api, client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { DismissFinding, SetAsideList } from '#renderer/parts/dismiss-finding.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { count, decimal, ratio, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { IntervalBar, sharedReach } from '#renderer/parts/interval-bar.tsx'
import { SeverityMark } from '#renderer/parts/marks.tsx'
import { Papers } from '#renderer/parts/papers.tsx'
import { Scrolls, SheetHead } from '#renderer/parts/sheet-table.tsx'
import { word } from '#core/words/listed-words.ts'
import { figures } from '#core/words/numbers.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

interface Figure {
  readonly value: number
  readonly u: number | null
  readonly checks: number
}

const nbsp = '\u00a0'

/** A small figure with two digits of what it is good to, in any measure; a given one with its own two. */
function knownTo(value: number, halfWidth: number | null): string {
  if (halfWidth === null) return figures({ maximumSignificantDigits: 2 })(value)
  const places = Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(halfWidth))))
  const write = figures({ minimumFractionDigits: places, maximumFractionDigits: places })
  return `${write(value)} ±${nbsp}${write(halfWidth)}`
}

/**
 * What the fleet’s own history says about how well pressures repeat and lines last; the House Rules while it is too
 * short.
 */
function FleetFigures({ leveling, wander }: { leveling: Figure; wander: Figure }) {
  const { pressure } = useMeasures()
  const shown = ({ value, u, checks }: Figure, unit: string, rule: string) => (
    <>
      <strong>
        {knownTo(pressure.shown(value), u === null ? null : expanded(pressure.shown(u)))}
        {nbsp}
        {unit}
      </strong>{' '}
      <span className="quiet">
        {u === null ? (
          <Phrase
            text="<link>House Rules</link>, until the fleet’s own history is long enough"
            with={{ link: (words) => <a href={hrefOf('house-rules', null, { text: rule })}>{words}</a> }}
          />
        ) : (
          phrase('95 %, from {checks} check weighings of the fleet', { checks: count(checks) })
        )}
      </span>
    </>
  )
  return (
    <Facts
      as="lines"
      facts={[
        [
          phrase('Leveling repeatability'),
          shown(leveling, pressure.symbol, 'leveling'),
          phrase('how closely one load gives the same pressure again'),
        ],
        [
          phrase('Wander of a line'),
          shown(wander, phrase('{pressureSymbol} per root month', { pressureSymbol: pressure.symbol }), 'wander'),
          phrase('how far a healthy line moves in a month'),
        ],
      ]}
    />
  )
}

/** A bias with its 95 % interval: `+0.85 ± 0.07 %`. */
const biasText = ({ biasPercent, uPercent }: ScaleRow): string =>
  `${biasPercent > 0 ? '+' : ''}${ratio(biasPercent)} ±${nbsp}${ratio(expanded(uPercent))}${nbsp}%`

/**
 * What the House Rules say of scales: the figures of one whose own are not recorded, and the tolerances beyond which
 * one is biased.
 */
interface UsualScale {
  readonly divisionLb: number
  readonly tolerancePercent: number
  readonly biasTolerances: number
}

const barOf = ({ verdict, biasPercent, uPercent, tolerancePercent }: ScaleRow, usual: UsualScale) =>
  verdict === 'not known'
    ? null
    : { value: biasPercent, u: uPercent, tolerance: tolerancePercent ?? usual.tolerancePercent }

/** A recorded figure, or the usual one marked as such. */
const Recorded = ({ own, text }: { own: boolean; text: string }) =>
  own ? text : <span className="quiet">{phrase('{text}, House Rules', { text })}</span>

interface BiasProps {
  readonly scale: ScaleRow
  readonly usual: UsualScale
  readonly reach: number
  /** Whether the fleet has no other scale to hold it against. */
  readonly isOnly: boolean
}

function Bias({ scale, usual, reach, isOnly }: BiasProps) {
  const bar = barOf(scale, usual)
  if (!bar)
    return (
      <td colSpan={3} className="quiet">
        {isOnly
          ? phrase('With one scale nothing tells its error from that of the lines: its certificate speaks for it.')
          : phrase(
              'Not known yet: it takes enough tickets that have a reading and the weight of the group, of units that are weighed on other scales too.',
            )}
      </td>
    )
  const text = biasText(scale)
  return (
    <>
      <td className="figure">{text}</td>
      <td>
        <IntervalBar
          {...bar}
          reach={reach}
          label={phrase('Bias {text}, tolerance ± {tolerance} %', { text, tolerance: ratio(bar.tolerance) })}
        />
      </td>
      <td className="nowrap">{word(scale.verdict)}</td>
    </>
  )
}

function ScaleLines({ scale, usual, reach, isOnly }: BiasProps) {
  const { weight, length, times } = useMeasures()
  const { scale: name, divisionLb, tolerancePercent, elevationFt, tickets, weighings, groups, since, finding } = scale
  return (
    <>
      <tr data-told={finding !== null || undefined}>
        <th scope="row" className="nowrap">
          {name}
        </th>
        <td className="figure">{count(tickets)}</td>
        <td className="figure">
          <Recorded own={divisionLb !== null} text={weight.text(divisionLb ?? usual.divisionLb)} />
        </td>
        <td className="figure">
          <Recorded own={tolerancePercent !== null} text={`± ${ratio(tolerancePercent ?? usual.tolerancePercent)} %`} />
        </td>
        <td className="figure">
          {elevationFt === null ? (
            <span className="quiet">{phrase('unknown')}</span>
          ) : (
            `${count(length.shown(elevationFt))} ${length.symbol}`
          )}
        </td>
        <Bias scale={scale} usual={usual} reach={reach} isOnly={isOnly} />
        <td className="nowrap">
          {since !== null && (
            <>
              {count(weighings)}{' '}
              <span className="quiet">
                <Phrase
                  text="of {groups} groups since {since}"
                  with={{ groups: count(groups), since: times.day(since) }}
                />
              </span>
            </>
          )}
        </td>
      </tr>
      {finding !== null && (
        <tr className="scale-finding">
          <td colSpan={9}>
            <SeverityMark severity="warn" /> {finding.message} <span className="quiet">{phrase('Next:')} </span>
            {finding.nextStep}{' '}
            <DismissFinding
              title={phrase('Scale biased, {name}', { name })}
              message={finding.message}
              focusAfter="part-title"
              returnsWith={phrase('another weighing on it')}
              onDismiss={(dismissal) => client.finding.dismiss({ id: finding.id, ...dismissal })}
            />
          </td>
        </tr>
      )}
    </>
  )
}

/** Every scale with what it is, and how far off it weighs. */
export function ScaleTable({ scales, usual }: { scales: readonly ScaleRow[]; usual: UsualScale }) {
  const bars = scales.flatMap((scale) => barOf(scale, usual) ?? [])
  const reach = sharedReach(bars)
  return (
    <table className="sheet-table scale-table">
      <caption className="unheard">{phrase('Scales')}</caption>
      <SheetHead
        heads={[
          [phrase('Scale')],
          [phrase('Tickets'), 'figure'],
          [phrase('Division'), 'figure'],
          [phrase('Tolerance'), 'figure'],
          [phrase('Elevation'), 'figure'],
          [phrase('Bias, 95 %'), 'figure'],
          bars.length === 0
            ? [null]
            : [
                <span key="axis" className="scale-axis">
                  <span>{`\u2212${decimal(reach)} %`}</span>
                  <span>0</span>
                  <span>{`+${decimal(reach)} %`}</span>
                </span>,
              ],
          [phrase('Verdict')],
          [phrase('From weighings')],
        ]}
      />
      <tbody>
        {scales.map((scale) => (
          <ScaleLines key={scale.scale} scale={scale} usual={usual} reach={reach} isOnly={scales.length === 1} />
        ))}
      </tbody>
    </table>
  )
}

/** Which scales cannot be told apart, and on which two to weigh one unit next. */
function ScaleAdvice({ scales, crossCheck }: Pick<ScaleList, 'scales' | 'crossCheck'>) {
  const sentences = [...tiedWords(scales), ...(crossCheck ? [crossCheckWords(crossCheck)] : [])]
  return sentences.map((sentence) => (
    <p key={sentence} className="scales-words">
      {sentence}
    </p>
  ))
}

/** The House Rules' scale; their defaults until the fleet's own have been read. */
function useUsualScale(): UsualScale {
  const rules = useQuery(api.houseRules.list.queryOptions()).data ?? []
  const ruleValue = (name: keyof typeof houseRuleDefinitions) =>
    rules.find((rule) => rule.name === name)?.value ?? houseRuleDefinitions[name].default
  return {
    divisionLb: ruleValue('scaleDivisionLb'),
    tolerancePercent: ruleValue('scaleTolerancePercent'),
    biasTolerances: ruleValue('scaleBiasTolerances'),
  }
}

type List = Awaited<ReturnType<typeof client.scales.list>>

function Scales({ list: { scales, crossCheck, setAside, asOf, leveling, wander } }: { list: List }) {
  const { times } = useMeasures()
  const usual = useUsualScale()
  const example = scales.find(({ verdict }) => verdict === 'biased') ?? scales.find(({ weighings }) => weighings > 0)
  useHelpExample(
    example
      ? phrase('{scale} has a bias of {bias}: {verdict}.', {
          scale: example.scale,
          bias: biasText(example),
          verdict: word(example.verdict),
        })
      : null,
  )
  if (scales.length === 0)
    return (
      <p>
        <Phrase
          text="No scale is recorded. <link>Add the scale</link> that the tickets come from, or <link2>import a fleet folder</link2> with scales.csv and tickets.csv."
          with={{
            link: (words) => <a href={hrefOf('fleet', null, { add: 'scale' })}>{words}</a>,
            link2: (words) => <a href={hrefOf('folder')}>{words}</a>,
          }}
        />
      </p>
    )
  return (
    <>
      {scales.length > 1 && (
        <p className="scales-words">
          {phrase(
            'A scale’s bias is what the tickets weighed on it have in common: the same units are weighed on several scales, so a line that is off shows on all of them, a scale that is off shows in all its units. What all scales have in common no ticket shows: there the tolerances speak that they are certified to. + means that a scale shows too much. The bar is where the bias lies with 95 % confidence, the shaded part the scale’s own tolerance. A scale surely beyond its tolerance, and most likely beyond {biasTolerances} times it, is called biased.',
            { biasTolerances: usual.biasTolerances },
          )}
        </p>
      )}
      <Papers papers={[[phrase('Save as spreadsheet'), () => client.scales.export()]]} />
      <Scrolls label={phrase('Scales and their bias')}>
        <ScaleTable scales={scales} usual={usual} />
      </Scrolls>
      <ScaleAdvice scales={scales} crossCheck={crossCheck} />
      <SetAsideList setAside={setAside} />
      <h3>{phrase('The fleet’s own figures')}</h3>
      <FleetFigures leveling={leveling} wander={wander} />
      <p className="quiet">
        <Phrase
          text="{scales, plural, one {# scale} other {# scales}}, judged for {asOf}."
          with={{ scales: scales.length, asOf: times.day(asOf) }}
        />
      </p>
    </>
  )
}

/** The scales that tickets come from, and how far each can be believed. */
export const ScalesPart = () => (
  <Answer
    to={useQuery(api.scales.list.queryOptions())}
    waiting={phrase('Reading the scales…')}
    failed={phrase('The scales could not be read')}
  >
    {(list) => <Scales list={list} />}
  </Answer>
)
