import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { trustStates } from '#core/findings/finding.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, hrefOf, lastRosterHref, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import { SetAsideList } from '#renderer/parts/dismiss-finding.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { FindingList } from './findings/finding-list.tsx'
import { GroupPanel } from './group-panel.tsx'
import { ChangedLoads } from './changed-loads.tsx'
import { EventList, ReadingList } from './lists.tsx'
import { AxleRuler } from './ruler/axle-ruler.tsx'
import './unit-screen.css'

function UnitFacts({ unit }: { unit: UnitSheetView['unit'] }) {
  const { weight, length } = useMeasures()
  return (
    <Facts
      facts={[
        unit.yard !== null && [phrase('Yard'), unit.yard],
        unit.plate !== null && [phrase('Plate'), [unit.plate, unit.plateRegion].filter(Boolean).join(' ')],
        unit.vin !== null && ['VIN', unit.vin],
        unit.grossLimitLb !== null && [phrase('Gross limit'), weight.text(unit.grossLimitLb)],
        unit.fifthWheelFt !== null && [
          phrase('Fifth wheel'),
          phrase('{fifthWheelFt} behind the front axle', { fifthWheelFt: length.text(unit.fifthWheelFt) }),
        ],
      ]}
    />
  )
}

/** The group whose line needs someone first. */
function worstGroup(groups: readonly GroupView[]): GroupView | undefined {
  return trustStates.flatMap((trust) => groups.filter((group) => group.trust === trust))[0] ?? groups[0]
}

/** A part of the sheet with its heading, which the list of parts can move the focus to. */
function Part({ id, title, children }: { id: string; title: string; children: ReactNode }) {
  return (
    <section className="unit-part" data-part={id} aria-labelledby={id}>
      <h2 id={id} tabIndex={-1}>
        {title}
      </h2>
      {children}
    </section>
  )
}

function PartLinks({ parts }: { parts: readonly (readonly [id: string, title: string])[] }) {
  const goTo = (id: string) => {
    const heading = document.getElementById(id)
    heading?.focus({ preventScroll: true })
    heading?.scrollIntoView({ block: 'start' })
  }
  return (
    <nav className="unit-parts" aria-label={phrase('On this sheet')}>
      {parts.map(([id, title]) => (
        <LinkButton key={id} onClick={() => goTo(id)}>
          {title}
        </LinkButton>
      ))}
    </nav>
  )
}

function Sheet({ sheet }: { sheet: UnitSheetView }) {
  const { times } = useMeasures()
  const { params } = useAddress()
  const { unit, groups, findings, setAside, events, changedVerdicts, readings, asOf } = sheet
  const chosen = groups.find(({ name }) => name === params.get('group')) ?? worstGroup(groups)
  const choose = (name: string) => changeParams({ group: name }, { replace: true })
  const description = [unit.modelYear, unit.make, unit.model, word(unit.kind)].filter(Boolean).join(' ')
  const worst = worstGroup(groups)?.trust ?? null
  return (
    <div className="unit">
      <header className="unit-head">
        <div className="unit-title">
          <a href={lastRosterHref()}>{phrase('Roster')}</a>
          <ScreenTitle tab={phrase('{number} · Unit sheet', { number: unit.number })}>{unit.number}</ScreenTitle>
          <span className="unit-trust">
            <TrustMark trust={worst} />
          </span>
          <span>
            {description}
            {unit.retired && phrase(', retired')}
          </span>
          <a href={hrefOf('record', unit.number)}>{phrase('Edit the record')}</a>
          <a href={hrefOf('log', null, { unit: unit.number })}>{phrase('Change log')}</a>
          <PartLinks
            parts={[
              ['findings', phrase('Findings {findings}', { findings: count(findings.length) })],
              ['groups', phrase('Axle groups')],
              ['events', phrase('Events {events}', { events: count(events.length) })],
              ['readings', phrase('Readings')],
            ]}
          />
        </div>
        <div className="unit-line">
          <UnitFacts unit={unit} />
          <div className="flow unit-papers">
            <CabCards total={1} label={phrase('Cab card')} make={() => client.cabCard.make({ units: [unit.number] })} />
            <Button onClick={() => print()}>{phrase('Print this sheet')}</Button>
          </div>
        </div>
      </header>
      <Part id="findings" title={phrase('Findings')}>
        <FindingList findings={findings} onChooseGroup={choose} />
        <SetAsideList setAside={setAside} />
      </Part>
      <Part id="groups" title={phrase('Axle groups')}>
        {groups.length === 0 ? (
          <p className="sheet-none">{phrase('No axle group recorded. Import a fleet folder with axle_groups.csv.')}</p>
        ) : (
          <AxleRuler unit={unit} groups={groups} chosen={chosen} onChoose={({ name }) => choose(name)} />
        )}
        {chosen && <GroupPanel unit={unit.number} group={chosen} events={events} asOf={asOf} />}
      </Part>
      <Part id="events" title={phrase('Events')}>
        <EventList events={events} />
      </Part>
      <Part id="readings" title={phrase('Newest readings')}>
        <ChangedLoads unit={unit.number} verdicts={changedVerdicts} />
        <ReadingList readings={readings} />
      </Part>
      <p className="quiet unit-as-of">{phrase('As of {asOf}.', { asOf: times.moment(asOf) })}</p>
    </div>
  )
}

/** One unit: what speaks against its lines, where its axles stand, and each group’s line with all it rests on. */
export function UnitScreen({ subject }: { subject: string | null }) {
  const number = subject ?? ''
  const sheet = useQuery(api.unit.sheet.queryOptions({ input: { unit: number }, enabled: number !== '' }))
  return (
    <>
      {sheet.data ? (
        <Sheet sheet={sheet.data} />
      ) : (
        <div className="unit-wait">
          <ScreenTitle tab={phrase('{number} · Unit sheet', { number })}>{number || phrase('Unit sheet')}</ScreenTitle>
          <Answer
            to={sheet}
            waiting={phrase('Reading the unit…')}
            failed={phrase('This sheet could not be opened')}
            way={
              <>
                <Button variant="filled" component="a" href={lastRosterHref()}>
                  {phrase('Open the Roster')}
                </Button>
                <Button onClick={() => sheet.refetch()}>{phrase('Try again')}</Button>
              </>
            }
          />
          {number === '' && (
            <p>
              <Phrase
                text="The address names no unit. <link>Choose one on the Roster.</link>"
                with={{ link: (words) => <a href={lastRosterHref()}>{words}</a> }}
              />
            </p>
          )}
        </div>
      )}
    </>
  )
}
