import { useInfiniteQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AddedVisits } from '#core/contracts/bench.ts'
import { api, client } from '#renderer/client/api.ts'
import { Answer, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { FileButton } from '#renderer/parts/source-chooser.tsx'
import { phrase } from '#core/words/phrase.ts'

/** Visits that are planned anyway: work waits for them where it may. */
export function VisitsPart() {
  const list = useInfiniteQuery(
    api.bench.plannedVisits.infiniteOptions({
      input: (offset: number) => ({ offset }),
      initialPageParam: 0,
      getNextPageParam: ({ total }, pages) => {
        const come = pages.reduce((sum, { rows }) => sum + rows.length, 0)
        return come < total ? come : undefined
      },
    }),
  )
  const [brought, setBrought] = useState<AddedVisits | null>(null)
  const bring = useSaving(async (file: File, by) => client.bench.addVisits({ csv: await file.text(), by }), setBrought)
  const remove = useSaving((id: number, by) => client.bench.removeVisit({ id, by }))
  return (
    <div className="shop-visits">
      <p className="shop-words">
        {phrase(
          'When a unit comes in anyway, its work is done then, as long as nothing is late for it. Type a visit beside a unit’s work, or import them all from a CSV file with the columns unit, yard, date.',
        )}
      </p>
      <div className="flow shop-tools">
        <FileButton
          loading={bring.isPending}
          heard={phrase('CSV file of visits')}
          accept=".csv,text/csv"
          onFiles={([file]) => file && void bring.send(file)}
        >
          {phrase('Import a CSV file')}
        </FileButton>
        <output>
          {brought?.outcome === 'stored' && phrase('{added} visits added.', { added: count(brought.added) })}
        </output>
      </div>
      {bring.error && <ProblemNotice title={phrase('The file was not imported')} error={bring.error} />}
      {brought?.outcome === 'refused' && (
        <Notice kind="problem" title={phrase('Not imported: nothing of the file was stored')}>
          <ul>
            {brought.problems.map(({ line, column, message }) => (
              <li key={`${line} ${column} ${message}`}>{message}</li>
            ))}
          </ul>
        </Notice>
      )}
      {remove.error && <ProblemNotice title={phrase('The visit was not removed')} error={remove.error} />}
      <Answer to={list} waiting={phrase('Reading the record…')} failed={phrase('The list could not be read')} />
      {list.data && rowsOf(list).length === 0 && <p className="quiet">{phrase('No visit is planned.')}</p>}
      {rowsOf(list).length > 0 && (
        <SheetTable
          rows={rowsOf(list)}
          keyOf={({ id }) => id}
          columns={[
            [phrase('Day'), ({ on }) => on],
            [phrase('Unit'), ({ unit }) => <a href={hrefOf('shop', null, { unit, when: 'all' })}>{unit}</a>],
            [phrase('Yard'), ({ yard }) => yard ?? <span className="quiet">{phrase('its own')}</span>],
            [
              phrase('Remove'),
              ({ id, unit, on }) => (
                <LinkButton
                  about={phrase('the visit of {unit} on {on}', { unit, on })}
                  onClick={() => void remove.send(id)}
                >
                  {phrase('Remove')}
                </LinkButton>
              ),
              'steps',
            ],
          ]}
        />
      )}
      <ShowMore list={list} />
    </div>
  )
}
