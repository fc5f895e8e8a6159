import { Button } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery, useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { LogEntry, LogFilterInput } from '#core/contracts/log.ts'
import { changeSubjects } from '#core/words/change.ts'
import { endOfDay, parseDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { api, client } from '#renderer/client/api.ts'
import { AddressChoice, AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams, hrefOf, known, oneOf, useAddress } from '#renderer/parts/address.ts'
import { Answer, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { changedText, columnLabel, recordLabel, sentenceCase } from '#renderer/parts/record-text.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import './log-screen.css'
import { UndoLast } from './undo-last.tsx'

/** What was changed of a record, and why. */
function Values({ entry }: { entry: LogEntry }) {
  const { subject, fields, reason } = entry
  const measures = useMeasures()
  const added = fields.every(({ old }) => old === null)
  return (
    <>
      {fields.length > 0 && (
        <ul className="bare log-values">
          {fields.map(({ name, old, new: now }) => (
            <li key={name}>
              {name !== '' && <span className="quiet">{columnLabel(subject, name)}: </span>}
              {!added && (
                <>
                  <span className="quiet">{changedText(entry, name, old, measures)}</span> →{' '}
                </>
              )}
              {changedText(entry, name, now, measures)}
            </li>
          ))}
        </ul>
      )}
      {reason !== null && (
        <p className="log-reason">
          <span className="quiet">{phrase('Why:')} </span>
          {reason}
        </p>
      )}
    </>
  )
}

function useFilter(): LogFilterInput {
  const { params } = useAddress()
  const [text] = useDebouncedValue(params.get('text') ?? '', 200)
  const unit = params.get('unit')
  const { zone } = useMeasures().times
  const [from, to] = [parseDay(params.get('from') ?? ''), parseDay(params.get('to') ?? '')]
  return known({
    text,
    unit,
    from: from ? toStoredInstant(startOfDay(from, zone)) : null,
    to: to ? toStoredInstant(endOfDay(to, zone)) : null,
    subject: oneOf(changeSubjects, params.get('subject')),
  })
}

function Filters({ filter }: { filter: LogFilterInput }) {
  const [said, setSaid] = useState('')
  const make = useMutation({
    mutationFn: () => client.log.export(filter),
    onSuccess: ({ rows, file }) => {
      saveFile(file)
      setSaid(phrase('{rows} changes written to {name}.', { rows: count(rows), name: file.name }))
    },
  })
  return (
    <search className="flow log-filters">
      <AddressText name="text" type="search" label={phrase('Find')} placeholder={phrase('Who, what, old, new, why')} />
      <AddressText name="unit" label={phrase('Unit')} />
      <AddressChoice
        name="subject"
        label={phrase('About')}
        all={phrase('everything')}
        options={changeSubjects.map((value) => ({ value, label: wordOf(value) }))}
        replace
      />
      <AddressText name="from" type="date" label={phrase('From')} />
      <AddressText name="to" type="date" label={phrase('To')} />
      <Button loading={make.isPending} onClick={() => make.mutate()}>
        {phrase('Export, CSV')}
      </Button>
      <UndoLast onUndone={setSaid} />
      <output className="log-said">{said}</output>
      {make.isError && <ProblemNotice title={phrase('The log was not written')} error={make.error} />}
    </search>
  )
}

function Changes({ filter }: { filter: LogFilterInput }) {
  const measures = useMeasures()
  const { times } = measures
  const list = useInfiniteQuery(
    api.log.list.infiniteOptions({
      input: (after: number | undefined) => ({ ...filter, ...(after === undefined ? {} : { after }) }),
      initialPageParam: undefined as number | undefined,
      getNextPageParam: ({ next }) => next ?? undefined,
      placeholderData: keepPreviousData,
    }),
  )
  const rows = rowsOf(list)
  const newest = rows[0]
  useHelpExample(
    newest
      ? phrase('{when}, {by}: {what} {key}, {done}.', {
          when: times.moment(newest.at),
          by: newest.by,
          what: wordOf(newest.subject),
          key: recordLabel(newest.subject, newest.key, measures),
          done: wordOf(newest.action),
        })
      : null,
  )
  return (
    <Answer
      to={list}
      waiting={phrase('Reading the log…')}
      failed={phrase('The log could not be read')}
      way={<Button onClick={() => changeParams({ unit: null })}>{phrase('All units')}</Button>}
    >
      {({ pages }) =>
        rows.length === 0 ? (
          <p className="sheet-none">
            {Object.keys(filter).length === 0
              ? phrase('Nothing was changed in this file yet.')
              : phrase('No change matches.')}
          </p>
        ) : (
          <>
            <SheetTable
              className="log-table"
              caption={phrase('Changes, newest first')}
              rows={rows}
              keyOf={({ id }) => id}
              named={3}
              columns={[
                [phrase('When'), ({ at }) => times.moment(at), 'nowrap'],
                [phrase('Who'), ({ by }) => by, 'nowrap'],
                [phrase('Unit'), ({ unit }) => unit !== null && <a href={hrefOf('unit', unit)}>{unit}</a>, 'nowrap'],
                [
                  phrase('What'),
                  ({ subject, key }) => (
                    <>
                      {sentenceCase(wordOf(subject))}{' '}
                      <span className="log-key">{recordLabel(subject, key, measures)}</span>
                    </>
                  ),
                ],
                [
                  phrase('Done'),
                  ({ action, undoes }) => (
                    <>
                      {wordOf(action)}
                      {undoes !== null && (
                        <span className="quiet">
                          {' '}
                          {phrase('(takes revision {undoes} back)', { undoes: count(undoes) })}
                        </span>
                      )}
                    </>
                  ),
                  'nowrap',
                ],
                [phrase('Old → new'), (entry) => <Values entry={entry} />],
              ]}
            />
            <p className="quiet">
              {phrase('{rows} of {count} changes.', { rows: count(rows.length), count: count(pages[0]?.total ?? 0) })}{' '}
              <ShowMore list={list} />
            </p>
          </>
        )
      }
    </Answer>
  )
}

/** Every change of the record: who, when, what was there before and is there now. */
export function LogScreen() {
  const filter = useFilter()
  return (
    <div className="page">
      <ScreenTitle>{phrase('Change log')}</ScreenTitle>
      <Filters filter={filter} />
      <Changes filter={filter} />
    </div>
  )
}
