import { useState } from 'react'
import type { AddedVisits, BenchPlanView } from '#core/contracts/bench.ts'
import { client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaving } from '#renderer/parts/save-form.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { FileButton } from '#renderer/parts/source-chooser.tsx'

/** Visits that are planned anyway: work waits for them where it may. */
export function VisitsPart({ plan }: { plan: BenchPlanView }) {
  const [brought, setBrought] = useState<AddedVisits | null>(null)
  const bring = useSaving(async (file: File, by) => client.bench.addVisits({ csv: await file.text(), by }), setBrought)
  const remove = useSaving((id: number, by) => client.bench.removeVisit({ id, by }))
  return (
    <div className="shop-visits">
      <p className="shop-words">
        When a unit comes in anyway, its work is done then, as long as nothing is late for it. Type a visit beside a
        unit’s work, or import them all from a CSV file with the columns unit, yard, date.
      </p>
      <div className="flow shop-tools">
        <FileButton
          loading={bring.isPending}
          heard="CSV file of visits"
          accept=".csv,text/csv"
          onFiles={([file]) => file && void bring.send(file)}
        >
          Import a CSV file
        </FileButton>
        <output>{brought?.outcome === 'stored' && `${count(brought.added)} visits added.`}</output>
      </div>
      {bring.error && <ProblemNotice title="The file was not imported" error={bring.error} />}
      {brought?.outcome === 'refused' && (
        <Notice kind="problem" title="Not imported: nothing of the file was stored">
          <ul>
            {brought.problems.map(({ line, column, message }) => (
              <li key={`${line} ${column} ${message}`}>{message}</li>
            ))}
          </ul>
        </Notice>
      )}
      {remove.error && <ProblemNotice title="The visit was not removed" error={remove.error} />}
      {plan.plannedVisits.length === 0 ? (
        <p className="quiet">No visit is planned.</p>
      ) : (
        <SheetTable
          rows={plan.plannedVisits}
          keyOf={({ id }) => id}
          columns={[
            ['Day', ({ on }) => on],
            ['Unit', ({ unit }) => <a href={hrefOf('shop', null, { unit, when: 'all' })}>{unit}</a>],
            ['Yard', ({ yard }) => yard ?? <span className="quiet">its own</span>],
            [
              'Remove',
              ({ id, unit, on }) => (
                <LinkButton about={`the visit of ${unit} on ${on}`} onClick={() => void remove.send(id)}>
                  Remove
                </LinkButton>
              ),
              'steps',
            ],
          ]}
        />
      )}
    </div>
  )
}
