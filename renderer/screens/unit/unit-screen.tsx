import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import type { GroupView, UnitSheetView } from '#core/contracts/unit.ts'
import { trustStates } from '#core/findings/finding.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, hrefOf, lastRosterHref, useAddress } from '#renderer/parts/address.ts'
import { CabCards } from '#renderer/parts/cab-cards.tsx'
import { SetAsideList } from '#renderer/parts/dismiss-finding.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import { FindingList } from './findings/finding-list.tsx'
import { GroupPanel } from './group-panel.tsx'
import { EventList, ReadingList } from './lists.tsx'
import { AxleRuler } from './ruler/axle-ruler.tsx'
import './unit-screen.css'

function Facts({ unit }: { unit: UnitSheetView['unit'] }) {
  const { weight, length } = useMeasures()
  const facts: [string, string | null][] = [
    ['Yard', unit.yard],
    ['Plate', unit.plate && [unit.plate, unit.plateRegion].filter(Boolean).join(' ')],
    ['VIN', unit.vin],
    ['Gross limit', unit.grossLimitLb === null ? null : weight.text(unit.grossLimitLb)],
    ['Fifth wheel', unit.fifthWheelFt === null ? null : `${length.text(unit.fifthWheelFt)} behind the front axle`],
  ]
  return (
    <dl className="unit-facts">
      {facts.map(
        ([name, text]) =>
          text !== null && (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{text}</dd>
            </div>
          ),
      )}
    </dl>
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
    <nav className="unit-parts" aria-label="On this sheet">
      {parts.map(([id, title]) => (
        <button key={id} type="button" className="link" onClick={() => goTo(id)}>
          {title}
        </button>
      ))}
    </nav>
  )
}

function Sheet({ sheet }: { sheet: UnitSheetView }) {
  const { times } = useMeasures()
  const { params } = useAddress()
  const { unit, groups, findings, setAside, events, readings, asOf } = sheet
  const chosen = groups.find(({ name }) => name === params.get('group')) ?? worstGroup(groups)
  const choose = (name: string) => changeParams({ group: name }, { replace: true })
  const description = [unit.modelYear, unit.make, unit.model, unit.kind].filter(Boolean).join(' ')
  const worst = worstGroup(groups)?.trust ?? null
  return (
    <div className="unit">
      <header className="unit-head">
        <div className="unit-title">
          <a href={lastRosterHref()}>Roster</a>
          <ScreenTitle>{unit.number}</ScreenTitle>
          <span className="unit-trust">
            <TrustMark trust={worst} />
          </span>
          <span>
            {description}
            {unit.retired && ', retired'}
          </span>
          <a href={hrefOf('record', unit.number)}>Edit the record</a>
          <a href={hrefOf('log', null, { unit: unit.number })}>Change log</a>
          <PartLinks
            parts={[
              ['findings', `Findings ${count(findings.length)}`],
              ['groups', 'Axle groups'],
              ['events', `Events ${count(events.length)}`],
              ['readings', 'Readings'],
            ]}
          />
        </div>
        <div className="unit-line">
          <Facts unit={unit} />
          <CabCards units={[unit.number]} label="Cab card" make={(of) => client.cabCard.make(of)} />
        </div>
      </header>
      <Part id="findings" title="Findings">
        <FindingList findings={findings} onChooseGroup={choose} />
        <SetAsideList setAside={setAside} />
      </Part>
      <Part id="groups" title="Axle groups">
        {groups.length === 0 ? (
          <p className="sheet-none">No axle group recorded. Bring in a fleet folder with axle_groups.csv.</p>
        ) : (
          <AxleRuler unit={unit} groups={groups} chosen={chosen} onChoose={({ name }) => choose(name)} />
        )}
        {chosen && <GroupPanel unit={unit.number} group={chosen} events={events} asOf={asOf} />}
      </Part>
      <Part id="events" title="Events">
        <EventList events={events} />
      </Part>
      <Part id="readings" title="Newest readings">
        <ReadingList readings={readings} />
      </Part>
      <p className="quiet unit-as-of">As of {times.moment(asOf)}.</p>
    </div>
  )
}

/** One unit: what speaks against its lines, where its axles stand, and each group’s line with all it rests on. */
export function UnitScreen({ subject }: { subject: string | null }) {
  const number = subject ?? ''
  const sheet = useQuery(api.unit.sheet.queryOptions({ input: { unit: number }, enabled: number !== '' }))
  return (
    <>
      <title>{`${number} · Unit sheet · Tareline`}</title>
      {sheet.data ? (
        <Sheet sheet={sheet.data} />
      ) : (
        <div className="unit-wait">
          <ScreenTitle>{number || 'Unit sheet'}</ScreenTitle>
          {sheet.isError && (
            <ProblemNotice title="This sheet could not be opened" error={sheet.error}>
              <Button component="a" href={lastRosterHref()}>
                Open the Roster
              </Button>
              <Button variant="default" onClick={() => sheet.refetch()}>
                Try again
              </Button>
            </ProblemNotice>
          )}
          {sheet.isLoading && <output>Reading the unit…</output>}
          {number === '' && (
            <p>
              The address names no unit. <a href={lastRosterHref()}>Choose one on the Roster.</a>
            </p>
          )}
        </div>
      )}
    </>
  )
}
