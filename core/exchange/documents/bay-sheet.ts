import { wordOf } from '#core/words/listed-words.ts'
import { basename } from 'node:path'
import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import { cautions } from '#core/bench/steps.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { quiet, rule, printedPage, ink } from '#core/exchange/documents/printed-page.ts'
import { listGroupRecords, listMountRecords } from '#core/store/fleet-lists.ts'
import { readMeasures } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { listCircuits, unitByNumber } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import type { StoredValue } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { type Measure, type MeasureSet, typedText } from '#core/words/measures.ts'
import { type RecordField, fieldsOf } from '#core/words/record-fields.ts'
import { phrase } from '#core/words/phrase.ts'

/** One circuit as the bay needs it: the sensor that sits there, if one does, and what of its installation is known. */
export interface BayCircuit {
  readonly group: string
  readonly circuit: string
  readonly serial: string | null
  /** Reference, range and cell of the sensor. */
  readonly about: string
  /** Label and known value; null is left blank to be written in. */
  readonly facts: readonly (readonly [label: string, value: string | null])[]
}

export interface BaySheet {
  readonly unit: string
  readonly about: string
  /** YYYY-MM-DD. */
  readonly asOf: string
  readonly file: string
  readonly circuits: readonly BayCircuit[]
}

/** A blank is a line to write on, wide enough for a hand. */
const factCell = ([label, value]: BayCircuit['facts'][number]): TableCell => ({
  stack: [
    { text: label, color: quiet, fontSize: 8 },
    { text: value ?? ' ', margin: [0, 3, 0, 1], bold: value !== null },
  ],
})

function block({ group, circuit, serial, about, facts }: BayCircuit): Content {
  const cells = facts.map(factCell)
  const rows: TableCell[][] = []
  for (let i = 0; i < cells.length; i += 3) rows.push(Array.from({ length: 3 }, (_, k) => cells[i + k] ?? ''))
  return {
    unbreakable: true,
    stack: [
      {
        columns: [
          { text: `${group}, ${circuit}`, style: 'heading' },
          {
            text: serial === null ? phrase('Sensor: ______________________') : phrase('Sensor {serial}', { serial }),
            bold: true,
            alignment: 'right',
          },
        ],
      },
      { text: about || ' ', color: quiet, fontSize: 8 },
      {
        table: { widths: ['*', '*', '*'], body: rows },
        layout: {
          hLineWidth: () => 0.5,
          vLineWidth: () => 0.5,
          hLineColor: () => rule,
          vLineColor: () => rule,
          paddingTop: () => 3,
          paddingBottom: () => 3,
        },
        margin: [0, 3, 0, 12],
      },
    ],
  }
}

/**
 * A unit's sensors with their installation record, to be checked and filled in at the bay. Values are known text;
 * blanks are for the pen.
 */
function baySheetDefinition({ unit, about, asOf, file, circuits }: BaySheet): TDocumentDefinitions {
  return {
    ...printedPage(
      phrase('Bay sheet of unit {unit}, {asOf}', { unit, asOf }),
      phrase('{file} · printed {asOf}', { file, asOf }),
    ),
    pageMargins: [40, 36, 40, 44],
    defaultStyle: { font: 'Roboto', fontSize: 10, color: ink, lineHeight: 1.1 },
    styles: {
      title: { fontSize: 20, bold: true },
      heading: { fontSize: 12, bold: true },
      small: { fontSize: 8, color: quiet },
    },
    content: [
      {
        columns: [
          { text: phrase('Unit {unit}', { unit }), style: 'title', width: 'auto' },
          {
            text: phrase('Bay sheet: sensors and their installation'),
            alignment: 'right',
            color: quiet,
            margin: [0, 6, 0, 0],
          },
        ],
      },
      { text: about, color: quiet, margin: [0, 0, 0, 6] },
      {
        table: {
          widths: ['*'],
          body: [
            [
              {
                stack: [{ text: phrase('Cautions'), bold: true, margin: [0, 0, 0, 2] }, { ul: [...cautions()] }],
                fontSize: 9,
              },
            ],
          ],
        },
        margin: [0, 0, 0, 12],
      },
      ...(circuits.length === 0
        ? [{ text: phrase('No circuit of this unit is recorded.') } as Content]
        : circuits.map(block)),
      {
        text: phrase('Done by {repeat}     Date {repeat2}     Entered by {repeat2}', {
          repeat: '_'.repeat(30),
          repeat2: '_'.repeat(20),
        }),
        margin: [0, 10, 0, 0],
      },
    ],
  }
}

const withSymbol = (value: number, measure: Measure): string => `${typedText(value, measure)} ${measure.symbol}`

function textOf(field: RecordField, value: StoredValue, set: MeasureSet): string | null {
  if (value === null) return null
  if (field.type === 'moment') return phrase('{value} UTC', { value: String(value).slice(0, 16).replace('T', ' ') })
  return (field.type === 'number' || field.type === 'whole') && field.measure
    ? withSymbol(Number(value), set[field.measure])
    : wordOf(String(value))
}

/** The bay sheet of a unit as PDF. Errors: TarelineError `no-such-unit`. */
export async function makeBaySheet(store: Store, number: string, at: number): Promise<Uint8Array<ArrayBuffer>> {
  const { db } = store
  const unit = await unitByNumber(db, number)
  const set = await readMeasures(db)
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
              wordOf(mount.reference),
              mount.range_psi === null
                ? ''
                : phrase('range {range_psi}', { range_psi: withSymbol(mount.range_psi, set.pressure) }),
              mount.cell === null ? '' : phrase('cell {cell}', { cell: mount.cell }),
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
    wordOf(unit.kind),
    [unit.make, unit.model, unit.model_year].filter((part) => part !== null).join(' '),
    unit.yard === null ? '' : phrase('yard {yard}', { yard: unit.yard }),
  ]
    .filter(Boolean)
    .join(' · ')
  return makePdf(
    baySheetDefinition({
      unit: unit.number,
      about,
      asOf: dayOf(at, await readZone(store.db)),
      file: basename(store.file),
      circuits: rows,
    }),
  )
}
