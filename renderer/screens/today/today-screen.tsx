import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useEffect } from 'react'
import type { TodayPage } from '#core/contracts/today.ts'
import { trustStates } from '#core/findings/finding.ts'
import { api, client } from '#renderer/client/api.ts'
import { AddressChoice } from '#renderer/parts/address-fields.tsx'
import { go, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Cautions, NotForTrade } from '#renderer/parts/cautions.tsx'
import { count } from '#renderer/parts/format.ts'
import { TrustShape } from '#renderer/parts/marks.tsx'
import { Papers } from '#renderer/parts/papers.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { noYard, yardName, yardOf } from '#renderer/parts/yards.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { namesOfDays } from '#core/words/numbers.ts'
import { ChangedPart } from './changed-part.tsx'
import { DuePart } from './due-part.tsx'
import './today-screen.css'
import { UntrustedPart } from './untrusted-part.tsx'
import { WeighPart } from './weigh-part.tsx'

const weekdays = namesOfDays({ weekday: 'long' })

/** How many groups stand in each state, worst first; each leads to its units. */
function States({ groups, yard }: { groups: TodayPage['groups']; yard: string | null }) {
  return (
    <ul className="bare flow today-states" aria-label={phrase('Axle groups by trust')}>
      {trustStates.map((trust) => (
        <li key={trust}>
          <a href={hrefOf('roster', null, { trust, yard })}>
            <TrustShape trust={trust} /> <strong>{count(groups[trust])}</strong> {word(trust)}
          </a>
        </li>
      ))}
    </ul>
  )
}

/** A file without units has nothing to tell of a day: the Roster says how to get some. */
function useWayOnWithoutUnits(): void {
  const { data } = useQuery(api.file.state.queryOptions({ select: ({ units }) => units }))
  useEffect(() => {
    if (data === 0) go(hrefOf('roster'), { replace: true })
  }, [data])
}

/** The first page of a day: what cannot be trusted, what comes due, what changed, and what to weigh. */
export function TodayScreen() {
  const { params } = useAddress()
  const yard = yardOf(params.get('yard'))
  const input = yard === undefined ? {} : { yard }
  useWayOnWithoutUnits()
  const page = useQuery({ ...api.today.page.queryOptions({ input }), placeholderData: keepPreviousData })
  const yards = page.data?.yards ?? []
  return (
    <div className="page stack today">
      <header className="flow head">
        <ScreenTitle>{phrase('Today')}</ScreenTitle>
        {page.data && (
          <output className="quiet">
            {weekdays(Date.parse(page.data.day))} {page.data.day}
            {yard !== undefined && <span className="today-of">, {yardName(yard)}</span>}
          </output>
        )}
        <search className="today-yard">
          <AddressChoice
            name="yard"
            heard={phrase('Yard')}
            all={phrase('Every yard')}
            options={[...yards, { value: noYard, label: yardName(null) }]}
          />
        </search>
        <Papers
          papers={[
            [phrase('Save as PDF'), () => client.today.pdf(input)],
            [phrase('Findings as spreadsheet'), () => client.today.findings(input)],
            [phrase('Calendar'), () => client.today.calendar(input)],
          ]}
        />
      </header>
      <Answer to={page} waiting={phrase('Reading the day…')} failed={phrase('The day could not be read')}>
        {(found) => (
          <>
            <States groups={found.groups} yard={typeof yard === 'string' ? yard : null} />
            <div className="today-parts">
              <UntrustedPart untrusted={found.untrusted} />
              <div className="stack today-side">
                <DuePart due={found.due} asOf={found.asOf} />
                <ChangedPart changed={found.changed} />
                <WeighPart trips={found.weigh} />
              </div>
            </div>
            <NotForTrade />
            <Cautions />
          </>
        )}
      </Answer>
    </div>
  )
}
