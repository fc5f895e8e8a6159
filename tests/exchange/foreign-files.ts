import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { importForeign } from '#core/foreign/import-foreign.ts'
import type { ForeignMapping } from '#core/foreign/mapping/mapping.ts'
import { previewForeign } from '#core/foreign/preview-foreign.ts'
import { readForeignFacts } from '#core/store/mappings.ts'
import type { Store } from '#core/store/open.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'

export const lines = (...text: string[]) => `${text.join('\r\n')}\r\n`

/**
 * What a German weighbridge program writes: semicolons, decimal comma, day first, kilograms, umlauts in Windows-1252; a
 * row a ticket.
 */
export const bridgeTickets = lines(
  'Fuhrpark Steinfurt, Wiegeprotokoll',
  'Wiegeschein;Datum;Uhrzeit;Waage;Zugmaschine;Anhänger;Lenkachse (kg);Antriebsachse (kg);Anhängerachse (kg);Bruttogewicht (kg)',
  '40101;21.03.2025;14:30;Salt Bend Yard;T-101;V-201;4.930,0;10.120,5;9.870,0;24.920,5',
  '40102;22.03.2025;07:05;Salt Bend Yard;T-101;;4.700,0;6.020,0;;10.720,0',
)

/** What a sensor app writes: tabs, kilopascals, ISO times with Z, a row a sensor. */
export const sensorLog = `${[
  'timestamp\tserial\tpressure [kPa]\ttemperature (°C)',
  '2025-03-21T20:30:00Z\tPA-01044\t358.5\t8',
  '2025-03-21T20:30:00Z\tPA-01045\t310.3\t8',
  '2025-03-21T20:30:00Z\tPB-01053\t402.1\t8',
  '2025-03-21T20:35:00Z\tPA-01044\t359.2\t8.5',
].join('\n')}\n`

/** One row a weight, with commas and month first. */
export const longTickets = lines(
  'Ticket,Weighed at,Scale,Unit,Axle group,Weight lb',
  '50001,03/21/2025 2:30 PM,Salt Bend Yard,T-101,steer,"10,860"',
  '50001,03/21/2025 2:30 PM,Salt Bend Yard,T-101,drive,"21,340"',
  '50002,03/22/2025 9:10 AM,Salt Bend Yard,V-201,tandem,"18,920"',
  '50003,03/23/2025 9:10 AM,Salt Bend Yard,T-101,drive,"12,000"',
)

export const latin = (text: string) => Buffer.from(text, 'latin1')

/** The mapping that is guessed for a file. */
export const guessed = async (
  store: Store,
  content: string | Uint8Array,
  zone = 'America/Denver',
): Promise<ForeignMapping> => (await look(store, content, null, zone)).mapping

export const look = (
  store: Store,
  content: string | Uint8Array,
  mapping: ForeignMapping | null = null,
  zone = 'America/Denver',
) =>
  withFolder(async (folder) => {
    const path = join(folder, 'other.csv')
    writeFileSync(path, content)
    return previewForeign({ path, mapping, zone, saved: [], facts: await readForeignFacts(store.db) })
  })

const bringForeign = (
  store: Store,
  content: string | Uint8Array,
  mapping: ForeignMapping,
  goodRows = false,
): Promise<ForeignOutcome> =>
  withFolder(async (folder) => {
    const path = join(folder, 'other.csv')
    writeFileSync(path, content)
    return importForeign(store, { path, name: 'other.csv', mapping, goodRows })
  })

/** Brings a file in that must be accepted. */
export async function bringForeignWell(
  store: Store,
  content: string | Uint8Array,
  mapping: ForeignMapping,
  goodRows = false,
) {
  const outcome = await bringForeign(store, content, mapping, goodRows)
  if (outcome.outcome === 'refused') throw new Error(outcome.problems.map(({ message }) => message).join('\n'))
  return outcome
}

/** Brings a file in that must be refused. */
export async function bringForeignBadly(
  store: Store,
  content: string | Uint8Array,
  mapping: ForeignMapping,
  goodRows = false,
) {
  const outcome = await bringForeign(store, content, mapping, goodRows)
  if (outcome.outcome === 'stored') throw new Error('the file was taken')
  return outcome
}
