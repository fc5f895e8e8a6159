import { useQuery } from '@tanstack/react-query'
import { useMemo } from 'react'
import type { WeighPreview } from '#core/contracts/weigh.ts'
import { nextDue, sayDue } from '#core/findings/next-due.ts'
import { type CabGroup, type CabTable, cabGroups } from '#core/weight/cab-card.ts'
import type { Verdict } from '#core/weight/verdict.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { howToRead, readingConditions } from '#core/words/sentences/cab-card.ts'
import type { Say } from '#core/words/say.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import { provisionalWords } from '#core/words/sentences/two-weights.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { api, client } from '#renderer/client/api.ts'
import { usePickUnits } from '#renderer/client/pick-units.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { UnitSelect } from '#renderer/parts/combination-picker.tsx'
import { useMeasures, useSay } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetHead } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import './cab-card-screen.css'

const marks: Readonly<Record<Verdict, string>> = {
  under: '',
  'too close to call': phrase('close'),
  over: phrase('OVER'),
}

type Standing = WeighPreview['trusts'][number] | undefined

/** One pressure after the other, and what it weighs. */
function Steps({ group, table: { steps, steer } }: { group: CabGroup; table: CabTable }) {
  const { pressure, weight, say } = useMeasures()
  return (
    <details className="cab-steps">
      <summary>{phrase('Every pressure of {group}', { group: group.group })}</summary>
      <table className="sheet-table">
        <SheetHead
          heads={[
            [pressure.symbol, 'figure'],
            [weight.symbol, 'figure'],
            [`± ${weight.symbol}`, 'figure'],
            ...(steer ? [[`${steer.group}, ${weight.symbol}`, 'figure'] as const] : []),
            [phrase('Verdict')],
          ]}
        />
        <tbody>
          {steps.map(({ psi, weightLb, uLb, verdict }, i) => (
            <tr key={psi} data-verdict={verdict}>
              <th scope="row" className="figure">
                {say.stepFigure(psi)}
              </th>
              <td className="figure">{say.weightFigure(weightLb)}</td>
              <td className="figure">{say.plusMinusFigure(uLb)}</td>
              {steer && <td className="figure">{say.weightFigure(steer.weightsLb[i]?.weightLb ?? 0)}</td>}
              <td>{marks[verdict]}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  )
}

function Table({ group, table, standing }: { group: CabGroup; table: CabTable; standing: Standing }) {
  const say = useSay()
  const { lift, gauges } = howToRead(table)
  const due = standing === undefined ? null : nextDue(standing.trust, standing.dueOn)
  return (
    <Section
      className="cab-group"
      title={
        <>
          {group.group}{' '}
          <span className="quiet">
            {phrase('{number, plural, one {# axle} other {# axles}}', { number: group.axles })}
          </span>
        </>
      }
    >
      {'why' in table.loadTo ? (
        <p className="cab-none">{sayNoLoad(table.loadTo.why, say)}</p>
      ) : (
        <p className="cab-load">
          <Phrase
            text="Load to at most <strong>{pressure}</strong>"
            with={{ pressure: say.loadTo(table.loadTo.psi), strong: (words) => <strong>{words}</strong> }}
          />
        </p>
      )}
      <p>
        <Phrase
          text="Limit <strong>{limit}</strong>; a weight there is good to {plusMinus} (95 %)."
          with={{
            limit: say.ticket(table.limitLb),
            plusMinus: say.plusMinus(table.uLimitLb),
            strong: (words) => <strong>{words}</strong>,
          }}
        />
      </p>
      {lift !== null && (
        <p>
          <strong>{lift}</strong>
        </p>
      )}
      {gauges.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      {table.isProvisional && (
        <p>
          <strong>
            {group.group}: {provisionalWords()}.
          </strong>
        </p>
      )}
      <p className="quiet">
        {[
          phrase('Calibrated {day}', { day: say.day(table.calibratedAt) }),
          ...(due === null ? [] : [phrase('due {due}', { due: sayDue(due) })]),
          ...(standing && standing.trust !== 'sound' ? [word(standing.trust)] : []),
        ].join(' · ')}
      </p>
      <Steps group={group} table={table} />
    </Section>
  )
}

/** The first group with a pressure to load to, in a sentence. */
function exampleOf(groups: readonly CabGroup[], say: Say): string | null {
  for (const { group, tables } of groups)
    for (const { loadTo, limitLb } of tables)
      if ('psi' in loadTo)
        return phrase('{group}: up to {psi} on the gauge it is under its limit of {limitLb}.', {
          group,
          psi: say.loadTo(loadTo.psi),
          limitLb: say.ticket(limitLb),
        })
  return null
}

function Card({ preview, now }: { preview: WeighPreview; now: number }) {
  const say = useSay()
  const groups = useMemo(
    () => cabGroups(weigherOf(preview.facts).ready(preview.unitIds), now, say.gaugeStepPsi),
    [preview, now, say],
  )
  useHelpExample(exampleOf(groups, say))
  const standingOf = (groupId: number) => preview.trusts.find((each) => each.groupId === groupId)
  return (
    <>
      {groups.every(({ tables }) => tables.length === 0) && (
        <p className="cab-none">
          {phrase('No axle group of this unit has a line that holds today: weigh it on a scale.')}
        </p>
      )}
      {groups.flatMap((group) =>
        group.tables.map((table) => (
          <Table
            key={`${group.groupId} ${table.lift}`}
            group={group}
            table={table}
            standing={standingOf(group.groupId)}
          />
        )),
      )}
      {groups.map(({ groupId, why }) => why !== null && <p key={groupId}>{sayUnweighed(why, say)}</p>)}
      <p className="quiet">{readingConditions()}</p>
    </>
  )
}

/** What a driver reads off the gauges of one unit: the pressure to load to, and what each pressure weighs. */
export function CabCardScreen({ subject }: { subject: string | null }) {
  const { picks, all, sought } = usePickUnits(subject === null ? [] : [subject])
  const [only, ...others] = all?.units ?? []
  const unit = subject ?? (only && others.length === 0 ? only.unit : null)
  const preview = useQuery(api.weigh.preview.queryOptions({ input: { units: [unit ?? ''] }, enabled: unit !== null }))
  return (
    <div className="page stack thumbs cab-card">
      <ScreenTitle tab={unit === null ? phrase('Cab card') : phrase('Cab card of {unit}', { unit })}>
        {phrase('Cab card')}
      </ScreenTitle>
      <Answer to={picks} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')}>
        {({ units }) => (
          <UnitSelect
            label={phrase('Unit')}
            placeholder={phrase('Type a unit number')}
            allowDeselect={false}
            data={units.map((each) => each.unit)}
            value={unit}
            onSearchChange={(text) => sought.search(text === unit ? '' : text)}
            onChange={(chosen) => chosen !== null && go(hrefOf('cab-card', chosen))}
          />
        )}
      </Answer>
      <Answer to={preview} waiting={phrase('Reading its lines…')} failed={phrase('This unit has no card')}>
        {(found) => <Card preview={found} now={preview.dataUpdatedAt} />}
      </Answer>
      {unit !== null && (
        <CabCards total={1} label={phrase('The card to print')} make={() => client.cabCard.make({ units: [unit] })} />
      )}
      <NotForTrade />
    </div>
  )
}
