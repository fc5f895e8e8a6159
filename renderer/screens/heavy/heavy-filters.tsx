import { Button, NativeSelect } from '@mantine/core'
import { keepPreviousData, useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import { limitKinds } from '#core/weight/heavy.ts'
import { addDays } from '#core/words/day.ts'
import { api } from '#renderer/client/api.ts'
import { AddressChoice, AddressText, narrows } from '#renderer/parts/address-fields.tsx'
import { changeParams } from '#renderer/parts/address.ts'
import { UnitSelect, mostShown } from '#renderer/parts/combination-picker.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import { kindWords } from './heavy-entry.tsx'
import { type HeavyView, filterInput, isNarrowed, noSpan } from './heavy-view.ts'

/** Stretches that end today, by their days, today's among them. */
const stretches = [30, 90, 365] as const

function Period({ from, to }: Pick<HeavyView, 'from' | 'to'>) {
  const { times } = useMeasures()
  const firstDayOf = (days: number) => addDays(times.today(), 1 - days)
  const days = to === null ? stretches.find((each) => firstDayOf(each) === from) : undefined
  const period = days ? String(days) : from === null && to === null ? '' : 'own'
  const wrongOrder = from !== null && to !== null && from > to
  return (
    <>
      <NativeSelect
        aria-label={phrase('Period')}
        value={period}
        data={[
          { value: '', label: phrase('All time') },
          ...stretches.map((each) => ({ value: String(each), label: phrase('Last {each} days', { each }) })),
          ...(period === 'own' ? [{ value: 'own', label: phrase('Days as given') }] : []),
        ]}
        onChange={({ currentTarget: { value } }) => {
          if (value !== 'own') changeParams({ from: value === '' ? null : firstDayOf(Number(value)), to: null })
        }}
      />
      <AddressText name="from" type="date" aria-label={phrase('First day')} />
      <span aria-hidden="true">{phrase('to')}</span>
      <AddressText
        name="to"
        type="date"
        aria-label={phrase('Last day')}
        error={wrongOrder && phrase('before the first day')}
        errorProps={{ role: 'alert' }}
      />
    </>
  )
}

/** What narrows the whole screen; each change is a new address, so Back undoes it. */
export function HeavyFilters({ view }: { view: HeavyView }) {
  const [typed, setTyped] = useState('')
  // What is chosen stands in the field too, and is not what is looked for.
  const text = typed === view.unit ? '' : typed.trim()
  const found = useQuery({
    ...api.roster.list.queryOptions({ input: { text, sort: text === '' ? 'unit' : 'match', limit: mostShown } }),
    placeholderData: keepPreviousData,
  }).data
  const units = (found?.rows ?? []).map(({ unit }) => unit)
  const yards = found?.choices.yards ?? []
  const known = view.unit === null || units.includes(view.unit) ? units : [view.unit, ...units]
  return (
    <search className="flow heavy-filters">
      <UnitSelect
        className="heavy-unit"
        wrapperProps={narrows(view.unit)}
        aria-label={phrase('Unit')}
        placeholder={phrase('Every unit')}
        clearable
        data={known}
        searchValue={typed}
        onSearchChange={setTyped}
        value={view.unit}
        onChange={(unit) => changeParams({ unit })}
        clearButtonProps={{ 'aria-label': phrase('Every unit') }}
      />
      <AddressChoice name="yard" heard={phrase('Yard')} all={phrase('Every yard')} options={yards} />
      <AddressChoice
        name="limit"
        heard={phrase('Limit')}
        all={phrase('Every limit')}
        options={limitKinds.map((kind) => ({ value: kind, label: kindWords[kind] }))}
      />
      <Period from={view.from} to={view.to} />
      {isNarrowed(view) && <Button onClick={() => changeParams(noSpan)}>{phrase('Clear filters')}</Button>}
    </search>
  )
}

/** Saves what the log shows, all of it, as a file. */
export function HeavyExport({ view }: { view: HeavyView }) {
  const exporting = useMutation(
    api.heavy.export.mutationOptions({
      onSuccess: ({ file }) => {
        if (file) saveFile(file)
      },
    }),
  )
  const button = (format: 'csv' | 'spreadsheet' | 'pdf', words: string) => {
    const isOwn = exporting.variables?.format === format
    return (
      <Button
        loading={exporting.isPending && isOwn}
        disabled={exporting.isPending && !isOwn}
        onClick={() => exporting.mutate({ ...filterInput(view), format })}
      >
        {words}
      </Button>
    )
  }
  return (
    <div className="flow heavy-export">
      {exporting.isError && <span role="alert">{problemText(exporting.error)}</span>}
      <output className="quiet">
        {exporting.data?.file &&
          phrase('Saved {name}, {rows, plural, one {# row} other {# rows}}', {
            name: exporting.data.file.name,
            rows: exporting.data.rows,
          })}
      </output>
      {button('csv', phrase('Save as CSV'))}
      {button('spreadsheet', phrase('Save as spreadsheet'))}
      {button('pdf', phrase('Save as PDF'))}
    </div>
  )
}
