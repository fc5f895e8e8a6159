import { Button, Modal, NativeSelect, TextInput } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { type SubmitEvent, useState } from 'react'
import { workKinds } from '#core/bench/visits.ts'
import type { UnitWorkView } from '#core/contracts/bench.ts'
import { type BatteryReason, batteryReasons } from '#core/words/vocabulary.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Cautions } from '#renderer/parts/cautions.tsx'
import { chance, count, useMeasures } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

const kindTitles = {
  cell: 'Swapping a cell',
  recalibration: 'Recalibrating',
  repair: 'Looking into a finding',
} as const

function Items({ items }: Pick<UnitWorkView, 'items'>) {
  if (items.length === 0) return <p className="quiet">Nothing is due.</p>
  return (
    <ul className="shop-items">
      {items.map(({ id, what, dueOn, minutes, visitOn, risk }) => (
        <li key={id}>
          {what}{' '}
          <span className="quiet">
            due {dueOn}, {count(minutes)} min{risk !== null && `, ${chance(risk)} dead before the next visit`}
            {visitOn !== null && `, planned ${visitOn}`}
          </span>
        </li>
      ))}
    </ul>
  )
}

function Cells({ cells }: Pick<UnitWorkView, 'cells'>) {
  if (cells.length === 0) return null
  return (
    <>
      <h4>Cells</h4>
      <table className="sheet-table shop-cells">
        <thead>
          <tr>
            <th scope="col">Sensor</th>
            <th scope="col">Cell</th>
            <th scope="col" className="figure">
              Age
            </th>
            <th scope="col">Swap by</th>
            <th scope="col" className="figure">
              Risk
            </th>
            <th scope="col">State</th>
          </tr>
        </thead>
        <tbody>
          {cells.map(
            ({
              serial,
              group,
              circuit,
              cell,
              ageDays,
              installedOn,
              installAssumed,
              swapBy,
              risk,
              state,
              nextVisitOn,
              visitAssumed,
            }) => (
              <tr key={serial}>
                <th scope="row">
                  {serial}
                  <br />
                  <span className="quiet">
                    {group} {circuit}
                  </span>
                </th>
                <td>{cell ?? <span className="quiet">unknown</span>}</td>
                <td
                  className="figure"
                  title={`In since ${installedOn}${installAssumed ? ', counted from the mounting' : ''}`}
                >
                  {count(ageDays)} d
                </td>
                <td className="nowrap">{swapBy}</td>
                <td
                  className="figure"
                  title={`Chance that it dies before ${nextVisitOn}${visitAssumed ? ', the next visit as House Rules assume it' : ', the next planned visit'}`}
                >
                  {chance(risk)}
                </td>
                <td>{state}</td>
              </tr>
            ),
          )}
        </tbody>
      </table>
    </>
  )
}

function PlanVisit({ unit, yards }: { unit: string; yards: readonly string[] }) {
  const client = useQueryClient()
  const [on, setOn] = useState('')
  const [yard, setYard] = useState('')
  const add = useMutation(
    api.bench.addVisit.mutationOptions({
      onSuccess: () => {
        setOn('')
        return client.invalidateQueries()
      },
    }),
  )
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    const by = await personNow()
    if (by !== null) add.mutate({ unit, yard: yard || null, on, by })
  }
  return (
    <form className="shop-plan-visit" onSubmit={submit} noValidate>
      <TextInput label="It comes in on" type="date" value={on} onChange={(event) => setOn(event.currentTarget.value)} />
      <TextInput
        label="At yard"
        placeholder="its own"
        list="shop-yards"
        value={yard}
        onChange={(event) => setYard(event.currentTarget.value)}
      />
      <datalist id="shop-yards">
        {yards.map((name) => (
          <option key={name} value={name} />
        ))}
      </datalist>
      <Button type="submit" variant="default" disabled={on === ''} loading={add.isPending}>
        Plan visit
      </Button>
      {add.isError && <ProblemNotice title="The visit was not planned" error={add.error} />}
    </form>
  )
}

/** One unit's work: what, by when, how, and what to mind first. */
export function UnitWork({
  unit,
  yards,
  onSwap,
}: {
  unit: string
  yards: readonly string[]
  onSwap: (serials: readonly string[]) => void
}) {
  const work = useQuery(api.bench.unitWork.queryOptions({ input: { unit } }))
  if (work.isPending) return <output>Reading the unit’s work…</output>
  if (work.isError)
    return (
      <ProblemNotice title="This unit’s work could not be read" error={work.error}>
        <Button variant="default" onClick={() => work.refetch()}>
          Try again
        </Button>
      </ProblemNotice>
    )
  const { items, cells, steps, plannedVisits, contradictions } = work.data
  const planned = items.flatMap(({ serial, visitOn }) => (serial !== null && visitOn !== null ? [serial] : []))
  const swap = planned.length > 0 ? planned : cells.map(({ serial }) => serial)
  const kinds = workKinds.filter((kind) => items.some((item) => item.kind === kind))
  return (
    <section className="shop-unit" aria-labelledby="shop-unit-title">
      <h2 id="shop-unit-title" tabIndex={-1}>
        {unit} <span className="quiet">{work.data.yard ?? 'no yard'}</span>
      </h2>
      <p>
        <a href={hrefOf('unit', unit)}>Open the Unit sheet</a>
      </p>
      <Items items={items} />
      {swap.length > 0 && (
        <Button variant={planned.length > 0 ? 'filled' : 'default'} onClick={() => onSwap(swap)}>
          Mark {swap.length === 1 ? 'its cell' : `its ${count(swap.length)} cells`} swapped
        </Button>
      )}
      {contradictions.map(({ serial, at, message }) => (
        <p key={`${serial} ${at} ${message}`} className="shop-problem">
          {message}
        </p>
      ))}
      {items.length > 0 && <Cautions />}
      {kinds.map((kind) => (
        <div key={kind}>
          <h4>{kindTitles[kind]}</h4>
          <ol className="shop-steps">
            {(steps[kind] ?? []).map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
        </div>
      ))}
      <Cells cells={cells} />
      <h4>Visits</h4>
      <p className="quiet">
        {plannedVisits.length === 0
          ? 'None planned.'
          : plannedVisits.map(({ on, yard }) => `${on}${yard === null ? '' : ` at ${yard}`}`).join(', ')}
      </p>
      <PlanVisit unit={unit} yards={yards} />
    </section>
  )
}

const reasonWords: Record<BatteryReason, string> = {
  scheduled: 'scheduled: it still worked',
  low: 'low: it reported low',
  dead: 'dead: it had stopped',
  new: 'new: first cell of the sensor',
}

interface MarkSwappedProps {
  serials: readonly string[]
  onDone: (said: string) => void
  onClose: () => void
}

function Form({ serials, onDone, onClose }: MarkSwappedProps) {
  const { times } = useMeasures()
  const client = useQueryClient()
  const [on, setOn] = useState<string>(times.today)
  const [cell, setCell] = useState('')
  const [reason, setReason] = useState<BatteryReason>('scheduled')
  const mark = useMutation(
    api.bench.markSwapped.mutationOptions({
      onSuccess: ({ swapped }) => {
        onDone(`${swapped === 1 ? '1 cell is' : `${count(swapped)} cells are`} marked swapped.`)
        return client.invalidateQueries()
      },
    }),
  )
  const submit = async (event: SubmitEvent<HTMLFormElement>) => {
    event.preventDefault()
    const by = await personNow()
    if (by !== null) mark.mutate({ serials: [...serials], on, cell: cell.trim() || null, reason, by })
  }
  return (
    <form className="shop-mark" onSubmit={submit} noValidate>
      <p>
        {count(serials.length)} {serials.length === 1 ? 'cell' : 'cells'}:{' '}
        <span className="quiet">
          {serials.slice(0, 12).join(', ')}
          {serials.length > 12 && ` and ${count(serials.length - 12)} more`}
        </span>
      </p>
      <TextInput
        label="Swapped on"
        type="date"
        value={on}
        data-autofocus
        onChange={(event) => setOn(event.currentTarget.value)}
      />
      <TextInput
        label="New cell"
        description="empty: the type on record for each sensor"
        autoComplete="off"
        value={cell}
        onChange={(event) => setCell(event.currentTarget.value)}
      />
      <NativeSelect
        label="Why"
        data={batteryReasons.map((value) => ({ value, label: reasonWords[value] }))}
        value={reason}
        onChange={(event) => setReason(batteryReasons.find((each) => each === event.currentTarget.value) ?? reason)}
      />
      <p className="quiet">
        Each is recorded on its own. Old cells are no toys: keep them from children, and recycle them.
      </p>
      {mark.isError && <ProblemNotice title="Nothing was recorded" error={mark.error} />}
      <div className="shop-actions">
        <Button type="submit" loading={mark.isPending}>
          Mark swapped
        </Button>
        <Button variant="default" onClick={onClose}>
          Cancel
        </Button>
      </div>
    </form>
  )
}

/** Records the swaps of many cells in one go. */
export function MarkSwapped(props: MarkSwappedProps & { opened: boolean }) {
  return (
    <Modal opened={props.opened} onClose={props.onClose} title="Mark cells swapped" size="md">
      {props.opened && <Form {...props} />}
    </Modal>
  )
}
