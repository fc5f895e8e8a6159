import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery, useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { LogEntry, LogFilterInput } from '#core/contracts/log.ts'
import { type ChangeSubject, changeSubjects } from '#core/words/change.ts'
import { endOfDay, parseDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { columnLabel, recordLabel, sentenceCase, valueText } from '#renderer/parts/record-text.ts'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './log-screen.css'
import { UndoLast } from './undo-last.tsx'

function Values({ entry }: { entry: LogEntry }) {
  const measures = useMeasures()
  if (entry.fields.length === 0) return null
  const added = entry.fields.every(({ old }) => old === null)
  return (
    <ul className="log-values">
      {entry.fields.map(({ name, old, new: now }) => (
        <li key={name}>
          {name !== '' && <span className="quiet">{columnLabel(entry.subject, name)}: </span>}
          {!added && (
            <>
              <span className="log-old">{valueText(name, old, measures)}</span> →{' '}
            </>
          )}
          {valueText(name, now, measures)}
        </li>
      ))}
    </ul>
  )
}

function Row({ entry }: { entry: LogEntry }) {
  const { times } = useMeasures()
  const { at, by, unit, subject, key, action, reason, undoes } = entry
  return (
    <tr>
      <td className="nowrap">{times.moment(at)}</td>
      <td className="nowrap">{by}</td>
      <td className="nowrap">{unit === null ? '' : <a href={hrefOf('unit', unit)}>{unit}</a>}</td>
      <th scope="row">
        {sentenceCase(subject)} <span className="log-key">{recordLabel(subject, key)}</span>
      </th>
      <td className="nowrap">
        {action}
        {undoes !== null && <span className="quiet"> (takes revision {count(undoes)} back)</span>}
      </td>
      <td>
        <Values entry={entry} />
        {reason !== null && (
          <p className="log-reason">
            <span className="quiet">Why: </span>
            {reason}
          </p>
        )}
      </td>
    </tr>
  )
}

function useFilter(): LogFilterInput {
  const { params } = useAddress()
  const [text] = useDebouncedValue(params.get('text') ?? '', 200)
  const subject = params.get('subject')
  const unit = params.get('unit')
  const { zone } = useMeasures().times
  const [from, to] = [parseDay(params.get('from') ?? ''), parseDay(params.get('to') ?? '')]
  return {
    ...(text === '' ? {} : { text }),
    ...(unit === null ? {} : { unit }),
    ...(from ? { from: toStoredInstant(startOfDay(from, zone)) } : {}),
    ...(to ? { to: toStoredInstant(endOfDay(to, zone)) } : {}),
    ...(changeSubjects.includes(subject as ChangeSubject) ? { subject: subject as ChangeSubject } : {}),
  }
}

function Filters({ filter }: { filter: LogFilterInput }) {
  const { params } = useAddress()
  const [said, setSaid] = useState('')
  const make = useMutation({
    mutationFn: () => client.log.export(filter),
    onSuccess: ({ rows, file }) => {
      saveFile(file)
      setSaid(`${count(rows)} changes written to ${file.name}.`)
    },
  })
  const set = (name: string) => (event: { currentTarget: { value: string } }) =>
    changeParams({ [name]: event.currentTarget.value || null }, { replace: true })
  return (
    <search className="log-filters">
      <TextInput
        type="search"
        label="Find"
        placeholder="Who, what, old, new, why"
        value={params.get('text') ?? ''}
        onChange={set('text')}
      />
      <TextInput label="Unit" value={params.get('unit') ?? ''} onChange={set('unit')} />
      <NativeSelect
        label="About"
        data={[
          { value: '', label: 'everything' },
          ...changeSubjects.map((subject) => ({ value: subject, label: subject })),
        ]}
        value={params.get('subject') ?? ''}
        onChange={set('subject')}
      />
      <TextInput type="date" label="From" value={params.get('from') ?? ''} onChange={set('from')} />
      <TextInput type="date" label="To" value={params.get('to') ?? ''} onChange={set('to')} />
      <Button variant="default" loading={make.isPending} onClick={() => make.mutate()}>
        Export, CSV
      </Button>
      <UndoLast onUndone={setSaid} />
      <output className="log-said">{said}</output>
      {make.isError && <ProblemNotice title="The log was not written" error={make.error} />}
    </search>
  )
}

function Changes({ filter }: { filter: LogFilterInput }) {
  const list = useInfiniteQuery(
    api.log.list.infiniteOptions({
      input: (after: number | undefined) => ({ ...filter, ...(after === undefined ? {} : { after }) }),
      initialPageParam: undefined as number | undefined,
      getNextPageParam: ({ next }) => next ?? undefined,
      placeholderData: keepPreviousData,
    }),
  )
  const rows = list.data?.pages.flatMap((page) => page.rows) ?? []
  const total = list.data?.pages[0]?.total ?? 0
  if (list.isPending) return <output>Reading the log…</output>
  if (list.isError)
    return (
      <ProblemNotice title="The log could not be read" error={list.error}>
        <Button variant="default" onClick={() => changeParams({ unit: null })}>
          All units
        </Button>
      </ProblemNotice>
    )
  if (rows.length === 0)
    return (
      <p className="sheet-none">
        {Object.keys(filter).length === 0 ? 'Nothing was changed in this file yet.' : 'No change matches.'}
      </p>
    )
  return (
    <>
      <table className="sheet-table log-table">
        <caption className="unheard">Changes, newest first</caption>
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col">Who</th>
            <th scope="col">Unit</th>
            <th scope="col">What</th>
            <th scope="col">Done</th>
            <th scope="col">Old → new</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((entry) => (
            <Row key={entry.id} entry={entry} />
          ))}
        </tbody>
      </table>
      <p className="quiet">
        {count(rows.length)} of {count(total)} changes.{' '}
        {list.hasNextPage && (
          <Button variant="default" loading={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
            Show more
          </Button>
        )}
      </p>
    </>
  )
}

/** Every change of the record: who, when, what was there before and is there now. */
export function LogScreen() {
  const filter = useFilter()
  return (
    <div className="log">
      <title>Change log · Tareline</title>
      <ScreenTitle>Change log</ScreenTitle>
      <Filters filter={filter} />
      <Changes filter={filter} />
    </div>
  )
}
