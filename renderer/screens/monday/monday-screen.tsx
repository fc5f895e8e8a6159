import { NativeSelect } from '@mantine/core'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import type { MondayPage } from '#core/contracts/heavy.ts'
import { sayThenNow } from '#core/words/sentences/look-back.ts'
import { type LocalMonth, addMonths, monthOf, parseMonth } from '#core/words/day.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { count, share, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { UnitLinks } from '#renderer/parts/links.tsx'
import { Papers } from '#renderer/parts/papers.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Earlier, Rate } from './rate.tsx'
import { RateList } from './rate-list.tsx'
import './monday-screen.css'

/** How far back a month can be chosen. */
const monthsBack = 36
const untilCurrentMs = 1500

function Fleet({ page: { fleet, month, before, yearBefore } }: { page: MondayPage }) {
  if (fleet === null) return <p>{phrase('Nothing was weighed in {month}.', { month })}</p>
  return (
    <dl className="flow monday-fleet" aria-label={phrase('The fleet')}>
      <div>
        <dt>{month}</dt>
        <dd>
          <strong>
            <Rate of={fleet} />
          </strong>
          <span className="monday-of">
            {phrase('{over} of {weighings, plural, one {# weighing} other {# weighings}} over a limit', {
              over: count(fleet.over),
              weighings: fleet.weighings,
            })}
          </span>
        </dd>
      </div>
      <div>
        <dt>{phrase('Month before, {before}', { before })}</dt>
        <dd>
          <Earlier of={fleet.before} />
        </dd>
      </div>
      <div>
        <dt>{phrase('Year before, {yearBefore}', { yearBefore })}</dt>
        <dd>
          <Earlier of={fleet.yearBefore} />
        </dd>
      </div>
    </dl>
  )
}

function LookBack({ lookBack: { total, rows }, from, to }: Pick<MondayPage, 'lookBack' | 'from' | 'to'>) {
  const { times } = useMeasures()
  return (
    <Section className="section" title={phrase('Loads that are judged otherwise by now')}>
      {total === 0 ? (
        <p className="quiet">{phrase('No verdict of this month has changed.')}</p>
      ) : (
        <ul className="monday-changed">
          {rows.map(({ id, weighedAt, units, lookBack, verdict }) => (
            <li key={id}>
              {times.day(weighedAt)} <UnitLinks units={units} between=" + " />:{' '}
              {lookBack === null ? word(verdict) : sayThenNow(lookBack.verdict, verdict)}.{' '}
              <span className="quiet">{lookBack?.because}</span>
            </li>
          ))}
        </ul>
      )}
      {total > rows.length && (
        <p>
          <a href={hrefOf('heavy', null, { from, to, changed: 'yes' })}>
            {phrase('All {total} in the Heavy Log', { total: count(total) })}
          </a>
        </p>
      )}
    </Section>
  )
}

/** The owner's page: who ran heavy in a month, against the month before and the same month last year. */
export function MondayScreen() {
  const { params } = useAddress()
  const { times } = useMeasures()
  const asked = parseMonth(params.get('month') ?? '')
  const input = asked === undefined ? {} : { month: asked }
  const page = useQuery({
    ...api.heavy.monday.queryOptions({ input }),
    placeholderData: keepPreviousData,
    refetchInterval: ({ state }) => (state.data?.current === false ? untilCurrentMs : false),
  })
  const top = page.data?.units.rows[0]
  useHelpExample(
    top
      ? phrase(
          '{unit}: {over} of {weighings, plural, one {# weighing} other {# weighings}} over a limit, a rate of {rate}, in 95 of 100 cases {low} to {high}: {standing}.',
          {
            unit: top.name,
            over: count(top.over),
            weighings: top.weighings,
            rate: share(top.rate),
            low: share(top.low),
            high: share(top.high),
            standing: word(top.standing),
          },
        )
      : null,
  )
  const last = addMonths(monthOf(times.today()), -1)
  const months = Array.from({ length: monthsBack }, (_, at): LocalMonth => addMonths(last, -at))
  const shown = asked ?? last
  return (
    <div className="page stack monday">
      <header className="flow head">
        <ScreenTitle tab={phrase('Monday’s page')}>{phrase('Who ran heavy')}</ScreenTitle>
        <search className="monday-month">
          <NativeSelect
            aria-label={phrase('Month')}
            value={shown}
            data={months.includes(shown) ? months : [shown, ...months]}
            onChange={({ currentTarget: { value } }) => changeParams({ month: value === last ? null : value })}
          />
        </search>
        <Papers papers={[[phrase('Save as PDF'), () => client.heavy.mondayPdf(input)]]} />
      </header>
      <Answer to={page} waiting={phrase('Counting the month…')} failed={phrase('The month could not be counted')}>
        {(found) => {
          const { from, to } = found
          return (
            <>
              <Fleet page={found} />
              <p className="monday-words">
                {phrase(
                  'Each rate is drawn towards the fleet’s of its month, so that one bad day of a rarely used truck does not top the list, and stands with its 95 % interval.',
                )}
              </p>
              <RateList
                title={phrase('By unit')}
                none={phrase('No unit was weighed.')}
                unnamed={phrase('no unit')}
                list={found.units}
                page={found}
                hrefOf={(unit) => hrefOf('heavy', null, { unit, from, to })}
              />
              {found.drivers === null ? (
                <Section className="section" title={phrase('By driver')}>
                  <p className="quiet">{phrase('The House Rules keep drivers’ names off screens and papers.')}</p>
                </Section>
              ) : (
                <RateList
                  title={phrase('By driver')}
                  none={phrase(
                    'No ticket and no reading of this month names a driver. A driver column in tickets.csv or readings.csv brings names in.',
                  )}
                  unnamed={phrase('not named')}
                  list={found.drivers}
                  page={found}
                />
              )}
              <RateList
                title={phrase('By loading lane')}
                none={phrase(
                  'No ticket and no reading of this month names a loading lane. A lane column in tickets.csv or readings.csv brings names in.',
                )}
                unnamed={phrase('not named')}
                list={found.lanes}
                page={found}
              />
              <RateList
                title={phrase('By yard')}
                none={phrase('No unit was weighed.')}
                unnamed={phrase('no yard')}
                list={found.yards}
                page={found}
                hrefOf={(yard) => hrefOf('heavy', null, { yard, from, to })}
              />
              <LookBack lookBack={found.lookBack} from={from} to={to} />
              <NotForTrade />
            </>
          )
        }}
      </Answer>
    </div>
  )
}
