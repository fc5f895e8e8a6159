import { Button } from '@mantine/core'
import { useRef, useState } from 'react'
import type { AddedVisits, BenchPlanView } from '#core/contracts/bench.ts'
import { client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'

/** Visits that are planned anyway: work waits for them where it may. */
export function VisitsPart({ plan }: { plan: BenchPlanView }) {
  const picker = useRef<HTMLInputElement>(null)
  const [brought, setBrought] = useState<AddedVisits | null>(null)
  const bring = useSaving(async (file: File, by) => client.bench.addVisits({ csv: await file.text(), by }), setBrought)
  const remove = useSaving((id: number, by) => client.bench.removeVisit({ id, by }))
  return (
    <div className="shop-visits">
      <p className="shop-words">
        When a unit comes in anyway, its work is done then, as long as nothing is late for it. Type a visit beside a
        unit’s work, or bring them all in a CSV file with the columns unit, yard, date.
      </p>
      <div className="shop-tools">
        <Button variant="default" loading={bring.isPending} onClick={() => picker.current?.click()}>
          Bring in a CSV file
        </Button>
        <input
          ref={picker}
          type="file"
          accept=".csv,text/csv"
          className="unheard"
          tabIndex={-1}
          aria-label="CSV file of visits"
          onChange={(event) => {
            const file = event.currentTarget.files?.[0]
            if (file) void bring.send(file)
            event.currentTarget.value = ''
          }}
        />
        <output>{brought?.outcome === 'stored' && `${count(brought.added)} visits added.`}</output>
      </div>
      {bring.error && <ProblemNotice title="The file was not brought in" error={bring.error} />}
      {brought?.outcome === 'refused' && (
        <div className="notice" data-kind="problem" role="alert">
          <h2 className="notice-title">Not brought in: nothing of the file was stored</h2>
          <ul>
            {brought.problems.map(({ line, column, message }) => (
              <li key={`${line} ${column} ${message}`}>{message}</li>
            ))}
          </ul>
        </div>
      )}
      {remove.error && <ProblemNotice title="The visit was not removed" error={remove.error} />}
      {plan.plannedVisits.length === 0 ? (
        <p className="quiet">No visit is planned.</p>
      ) : (
        <table className="sheet-table">
          <thead>
            <tr>
              <th scope="col">Day</th>
              <th scope="col">Unit</th>
              <th scope="col">Yard</th>
              <th scope="col">
                <span className="unheard">Remove</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {plan.plannedVisits.map(({ id, on, unit, yard }) => (
              <tr key={id}>
                <th scope="row">{on}</th>
                <td>
                  <a href={hrefOf('shop', null, { unit, when: 'all' })}>{unit}</a>
                </td>
                <td>{yard ?? <span className="quiet">its own</span>}</td>
                <td>
                  <button type="button" className="link" onClick={() => void remove.send(id)}>
                    Remove
                    <span className="unheard">
                      {' '}
                      the visit of {unit} on {on}
                    </span>
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </div>
  )
}
