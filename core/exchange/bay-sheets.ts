import { basename } from 'node:path'
import { type BayCircuit, baySheetDefinition } from '#core/exchange/documents/bay-sheet.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import type { StoredValue } from '#core/fleet/change.ts'
import { dayOf } from '#core/fleet/instant.ts'
import { type Measure, type MeasureSet, measuresOfRule, typedText } from '#core/fleet/measures.ts'
import { fieldsOf, type RecordField } from '#core/fleet/record-fields.ts'
import { listGroupRecords, listMountRecords } from '#core/store/fleet-lists.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { listCircuits, unitByNumber } from '#core/store/unit-sheet.ts'

const withSymbol = (value: number, measure: Measure): string => `${typedText(value, measure)} ${measure.symbol}`

function textOf(field: RecordField, value: StoredValue, set: MeasureSet): string | null {
  if (value === null) return null
  if (field.type === 'moment') return `${String(value).slice(0, 16).replace('T', ' ')} UTC`
  return (field.type === 'number' || field.type === 'whole') && field.measure
    ? withSymbol(Number(value), set[field.measure])
    : String(value)
}

/** The bay sheet of a unit as PDF. Errors: TarelineError `no-such-unit`. */
export async function makeBaySheet(store: Store, number: string, at: number): Promise<Uint8Array<ArrayBuffer>> {
  const { db } = store
  const unit = await unitByNumber(db, number)
  const set = measuresOfRule((await readHouseRules(db)).measures)
  const mounts = (await listMountRecords(db, unit.id)).filter(({ removed_at }) => removed_at === null)
  const circuits = await listCircuits(db, unit.id)
  const labels = Object.entries(fieldsOf('mount')).filter(([column]) => column !== 'removed_at')
  const rows = (await listGroupRecords(db, unit.id)).flatMap((group) =>
    circuits
      .filter(({ group_id }) => group_id === group.id)
      .map((circuit): BayCircuit => {
        const mount = mounts.find(({ circuit_id }) => circuit_id === circuit.id)
        const about = mount
          ? [
              mount.reference,
              mount.range_psi === null ? '' : `range ${withSymbol(mount.range_psi, set.pressure)}`,
              mount.cell === null ? '' : `cell ${mount.cell}`,
            ]
              .filter(Boolean)
              .join(' · ')
          : ''
        return {
          group: group.name,
          circuit: circuit.name,
          serial: mount?.serial ?? null,
          about,
          facts: labels.map(([column, field]) => [
            field.label,
            mount ? textOf(field, mount[column as keyof typeof mount], set) : null,
          ]),
        }
      }),
  )
  const about = [
    unit.kind,
    [unit.make, unit.model, unit.model_year].filter((part) => part !== null).join(' '),
    unit.yard === null ? '' : `yard ${unit.yard}`,
  ]
    .filter(Boolean)
    .join(' · ')
  return makePdf(
    baySheetDefinition({ unit: unit.number, about, asOf: dayOf(at), file: basename(store.file), circuits: rows }),
  )
}
