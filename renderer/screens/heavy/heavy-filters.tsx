import { Button, NativeSelect, Select, TextInput } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useMemo } from 'react'
import { limitKinds } from '#core/weight/heavy.ts'
import { addDays } from '#core/words/day.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { kindWords, plural } from './heavy-entry.tsx'
import { type HeavyView, filterInput, isNarrowed, noSpan } from './heavy-view.ts'

const mostShown = 60

/** Stretches that end today, by their days. */
const stretches = [30, 90, 365] as const

function Period({ from, to }: Pick<HeavyView, 'from' | 'to'>) {
  const { times } = useMeasures()
  const firstDayOf = (days: number) => addDays(times.today(), -days)
  const days = to === null ? stretches.find((each) => firstDayOf(each) === from) : undefined
  const period = days ? String(days) : from === null && to === null ? '' : 'own'
  const wrongOrder = from !== null && to !== null && from > to
  return (
    <>
      <NativeSelect
        aria-label="Period"
        value={period}
        data={[
          { value: '', label: 'All time' },
          ...stretches.map((each) => ({ value: String(each), label: `Last ${each} days` })),
          ...(period === 'own' ? [{ value: 'own', label: 'Days as given' }] : []),
        ]}
        onChange={({ currentTarget: { value } }) => {
          if (value !== 'own') changeParams({ from: value === '' ? null : firstDayOf(Number(value)), to: null })
        }}
      />
      <TextInput
        type="date"
        aria-label="First day"
        value={from ?? ''}
        onChange={(event) => changeParams({ from: event.currentTarget.value }, { replace: true })}
      />
      <span aria-hidden="true">to</span>
      <TextInput
        type="date"
        aria-label="Last day"
        value={to ?? ''}
        error={wrongOrder && 'before the first day'}
        errorProps={{ role: 'alert' }}
        onChange={(event) => changeParams({ to: event.currentTarget.value }, { replace: true })}
      />
    </>
  )
}

/** What narrows the whole screen; each change is a new address, so Back undoes it. */
export function HeavyFilters({ view }: { view: HeavyView }) {
  const roster = useQuery(api.roster.list.queryOptions()).data
  const units = useMemo(
    () => (roster?.rows ?? []).map(({ unit }) => unit).sort((a, b) => a.localeCompare(b, 'en', { numeric: true })),
    [roster],
  )
  const yards = useMemo(
    () => [...new Set((roster?.rows ?? []).flatMap(({ yard }) => (yard === null ? [] : [yard])))].sort(),
    [roster],
  )
  const known = view.unit === null || units.includes(view.unit) ? units : [view.unit, ...units]
  return (
    <search className="heavy-filters">
      <Select
        size="xs"
        className="heavy-unit"
        aria-label="Unit"
        placeholder="Every unit"
        searchable
        clearable
        limit={mostShown}
        nothingFoundMessage="No such unit"
        selectFirstOptionOnChange
        data={known}
        value={view.unit}
        onChange={(unit) => changeParams({ unit })}
        clearButtonProps={{ 'aria-label': 'Every unit' }}
      />
      <NativeSelect
        aria-label="Yard"
        value={view.yard ?? ''}
        data={[{ value: '', label: 'Every yard' }, ...yards.map((yard) => ({ value: yard, label: yard }))]}
        onChange={(event) => changeParams({ yard: event.currentTarget.value })}
      />
      <NativeSelect
        aria-label="Limit"
        value={view.kind ?? ''}
        data={[
          { value: '', label: 'Every limit' },
          ...limitKinds.map((kind) => ({ value: kind, label: kindWords[kind] })),
        ]}
        onChange={(event) => changeParams({ limit: event.currentTarget.value })}
      />
      <Period from={view.from} to={view.to} />
      {isNarrowed(view) && (
        <Button variant="default" onClick={() => changeParams(noSpan)}>
          Clear filters
        </Button>
      )}
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
  const start = (format: 'csv' | 'spreadsheet') => exporting.mutate({ ...filterInput(view), format })
  const isBusy = (format: 'csv' | 'spreadsheet') => exporting.isPending && exporting.variables.format === format
  return (
    <div className="heavy-export">
      {exporting.isError && <span role="alert">{problemText(exporting.error)}</span>}
      <output className="quiet">
        {exporting.data?.file &&
          `Saved ${exporting.data.file.name}, ${count(exporting.data.rows)} ${plural(exporting.data.rows, 'row')}`}
      </output>
      <Button variant="default" loading={isBusy('csv')} disabled={isBusy('spreadsheet')} onClick={() => start('csv')}>
        Save as CSV
      </Button>
      <Button
        variant="default"
        loading={isBusy('spreadsheet')}
        disabled={isBusy('csv')}
        onClick={() => start('spreadsheet')}
      >
        Save as spreadsheet
      </Button>
    </div>
  )
}
