import { afterEach, describe, expect, it } from 'vitest'
import { encodeText } from '#core/foreign/mapping/cells.ts'
import { mendColumn } from '#core/foreign/mapping/mapping.ts'
import type { Store } from '#core/store/open.ts'
import es from '#core/words/languages/es.json' with { type: 'json' }
import { english, speakBy } from '#core/words/phrase.ts'
import {
  bridgeTickets,
  bringForeignBadly,
  bringForeignWell,
  guessed,
  latin,
  lines,
  longTickets,
  look,
  sensorLog,
} from '#tests/exchange/foreign-files.ts'
import { smallFleet } from '#tests/exchange/small-fleet.ts'
import { bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

afterEach(() => speakBy(() => english))

const withFleet = (work: (store: Store) => Promise<void>) =>
  withStore(async (store) => {
    await bringWell(store, smallFleet())
    await work(store)
  })

const weights = ({ raw }: Store, ticket: string) =>
  raw
    .prepare(`select u.number, g.name, w.weight_lb, t.weighed_at, t.gross_lb from ticket t join ticket_weight w on w.ticket_id = t.id
  join unit u on u.id = w.unit_id left join axle_group g on g.id = w.group_id where t.number = ? order by w.id`)
    .raw()
    .all(ticket)
const pressures = ({ raw }: Store, reading: string) =>
  raw
    .prepare(`select c.name, p.psi, r.taken_at from reading r join reading_pressure p on p.reading_id = r.id join circuit c on c.id = p.circuit_id
  where r.name = ? order by c.name`)
    .raw()
    .all(reading)
const lb = (kg: number) => kg / 0.45359237
const psi = (kPa: number) => kPa / 6.894757293168361

describe('a file of a German weighbridge: semicolons, decimal comma, day first, kg, Windows-1252, a row a ticket', () => {
  it('is guessed whole, and stored in lb and UTC; imported again it is the same', () =>
    withFleet(async (store) => {
      const file = latin(bridgeTickets)
      const preview = await look(store, file, null, 'Europe/Berlin')
      expect([preview.gaps, preview.faults, preview.isWhole]).toEqual([[], [], true])
      expect(preview.mapping).toMatchObject({
        kind: 'tickets',
        delimiter: 'semicolon',
        encoding: 'windows-1252',
        skipLines: 1,
        dateOrder: 'day first',
        decimal: 'comma',
        thousands: 'point',
        weight: 'kg',
        layout: 'wide',
        zone: 'Europe/Berlin',
      })
      expect(preview.rows[0]?.stored.map(({ unit, group, at }) => [unit, group, at])).toEqual([
        ['T-101', 'steer', '2025-03-21T13:30:00.000Z'],
        ['T-101', 'drive', '2025-03-21T13:30:00.000Z'],
        ['V-201', 'tandem', '2025-03-21T13:30:00.000Z'],
      ])
      const first = await bringForeignWell(store, file, preview.mapping)
      expect([first.rows, first.files[0]]).toMatchObject([2, { read: 5, added: 5, same: 0 }])
      expect(weights(store, '40101')).toEqual([
        ['T-101', 'steer', lb(4930), '2025-03-21T13:30:00.000Z', lb(24_920.5)],
        ['T-101', 'drive', lb(10_120.5), '2025-03-21T13:30:00.000Z', lb(24_920.5)],
        ['V-201', 'tandem', lb(9870), '2025-03-21T13:30:00.000Z', lb(24_920.5)],
      ])
      expect(weights(store, '40102')).toHaveLength(2)
      const before = wholeRecord(store)
      expect((await bringForeignWell(store, file, preview.mapping)).files[0]).toMatchObject({
        added: 0,
        completed: 0,
        same: 5,
      })
      expect(wholeRecord(store)).toEqual(before)
      expect(
        store.raw.prepare('select subject, subject_key from change_log order by id desc limit 1').raw().get(),
      ).toEqual(['foreign CSV', 'other.csv'])
    }))

  it('that contradicts what is stored is refused at its line and column', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, latin(bridgeTickets))
      await bringForeignWell(store, latin(bridgeTickets), mapping)
      const { problems, canTakeGood } = await bringForeignBadly(
        store,
        latin(bridgeTickets.replace('6.020,0', '6.030,0')),
        mapping,
      )
      expect(problems).toMatchObject([
        {
          file: 'other.csv',
          line: 4,
          column: 'Antriebsachse (kg)',
          message: expect.stringMatching(
            /^other\.csv line 4, Antriebsachse \(kg\): "13,293\.87.lb" contradicts "13,271\.83.lb", which is recorded already\.$/,
          ) as string,
        },
      ])
      expect(canTakeGood).toBe(true)
    }))

  it('what is wrong with its values is told in the measures of the fleet', () =>
    withFleet(async (store) => {
      store.raw.exec("insert into house_rule (name, value) values ('measures', 2)")
      const mapping = await guessed(store, latin(bridgeTickets))
      await bringForeignWell(store, latin(bridgeTickets), mapping)
      const told = async (from: string, to: string) =>
        (await bringForeignBadly(store, latin(bridgeTickets.replace(from, to)), mapping)).problems.map(
          ({ value, accepted, message }) =>
            [value, accepted, message.replace(/^.*?: /, '')].map((text) => text.replaceAll('\u00a0', ' ')),
        )
      expect(await told('6.020,0', '6.030,0')).toEqual([
        [
          '6,030 kg',
          '6,020 kg, which is recorded already, or an empty cell',
          '"6,030 kg" contradicts "6,020 kg", which is recorded already.',
        ],
      ])
      expect(await told('6.020,0', '602.000,0')).toEqual([
        ['602.000,0', '0 to 181,436 kg', '“602.000,0” is 602,000 kg; 0 to 181,436 kg is accepted.'],
      ])
      const pressures = await guessed(store, sensorLog)
      const far = await bringForeignBadly(store, sensorLog.replace('310.3', '31030'), pressures)
      expect(far.problems[0]?.message.replaceAll('\u00a0', ' ')).toContain(
        '“31030” is 310.3 bar; -1.034 to 137.89 bar is accepted.',
      )
    }))
})

describe('columns of drivers and loading lanes', () => {
  const named = longTickets
    .split('\r\n')
    .map((row, at) =>
      row === '' ? row : `${row},${at === 0 ? 'Driver,Loading lane' : at === 4 ? ',' : 'R. Stone,Quarry 2'}`,
    )
    .join('\r\n')

  it('are found by their titles, and kept with each ticket that has a name in it', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, named)
      expect(mapping.fields).toMatchObject({ driver: { column: 'Driver' }, lane: { column: 'Loading lane' } })
      await bringForeignWell(store, named, mapping)
      expect(
        store.raw
          .prepare("select number, driver, lane from ticket where number like '5000%' order by number")
          .raw()
          .all(),
      ).toEqual([
        ['50001', 'R. Stone', 'Quarry 2'],
        ['50002', 'R. Stone', 'Quarry 2'],
        ['50003', null, null],
      ])
    }))
})

describe('a tab file of sensor readings in kPa by serial', () => {
  it('finds each circuit by the mount at that time, and gathers a unit’s pressures of one moment in a reading', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, sensorLog)
      expect(mapping).toMatchObject({
        kind: 'readings',
        delimiter: 'tab',
        place: 'serial',
        pressure: 'kPa',
        temperature: '°C',
        layout: 'long',
        dateOrder: 'year first',
      })
      expect((await bringForeignWell(store, sensorLog, mapping)).files[0]).toMatchObject({ read: 4, added: 4 })
      expect(pressures(store, 'V-201 2025-03-21T20:30:00Z')).toEqual([
        ['left', psi(310.3), '2025-03-21T20:30:00.000Z'],
        ['right', psi(402.1), '2025-03-21T20:30:00.000Z'],
      ])
      expect((await bringForeignWell(store, sensorLog, mapping)).files[0]).toMatchObject({ added: 0, same: 4 })
    }))

  it('refuses a sensor that is not there, one that hung nowhere at that time, and a number that is none, each at its cell', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, sensorLog)
      const before = wholeRecord(store)
      const bad = sensorLog
        .replace('PB-01053', 'PX-9')
        .replace('2025-03-21T20:35:00Z', '2024-03-21T20:35:00Z')
        .replace('310.3', '310,3')
      const { problems } = await bringForeignBadly(store, bad, mapping)
      expect(problems.map(({ line, column, value }) => [line, column, value])).toEqual([
        [3, 'pressure [kPa]', '310,3'],
        [4, 'serial', 'PX-9'],
        [5, 'serial', 'PA-01044'],
      ])
      expect(wholeRecord(store)).toEqual(before)
    }))
})

describe('rows to mend', () => {
  const bad = longTickets.replace('"21,340"', 'heavy').replace('V-201', 'V-999')

  it('go out as the file had them, whole tickets, with what is wrong; mended, they come back with the same mapping', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, longTickets)
      const refused = await bringForeignBadly(store, bad, mapping)
      expect(refused.problems.map(({ line, column }) => [line, column])).toEqual([
        [3, 'Weight lb'],
        [4, 'Unit'],
      ])
      const { rest, rows } = await bringForeignWell(store, bad, mapping, true)
      expect([rows, rest?.rows]).toEqual([1, 3])
      expect(weights(store, '50003')).toHaveLength(1)
      expect([weights(store, '50001'), weights(store, '50002')]).toEqual([[], []])
      const [head, first, second, third] = (rest?.text ?? '').split('\r\n')
      expect(head).toBe(`${mendColumn},Ticket,Weighed at,Scale,Unit,Axle group,Weight lb`)
      expect(first).toBe(
        'Left out with line 3 of the same ticket.,50001,03/21/2025 2:30 PM,Salt Bend Yard,T-101,steer,"10,860"',
      )
      expect([second, third]).toEqual([
        expect.stringContaining('Weight lb: “heavy” is not accepted'),
        expect.stringContaining('Unit: there is no unit “V-999” in this fleet.'),
      ])
      // Brought back as it is, it is refused again, and the column is not doubled.
      const again = await bringForeignBadly(store, rest?.text ?? '', mapping)
      expect(again.problems).toHaveLength(2)
      const mended = (rest?.text ?? '')
        .replace('T-101,drive,heavy', 'T-101,drive,"21,340"')
        .replace(',V-999,', ',V-201,')
      expect((await bringForeignWell(store, mended, mapping)).files[0]).toMatchObject({ added: 3 })
      expect(weights(store, '50001').map((row) => (row as unknown[])[2])).toEqual([10_860, 21_340])
    }))

  it('are told what is wrong without the file and the line in every language', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, longTickets)
      speakBy(() => ({ language: 'es', locale: 'es-US', catalogue: es }))
      const { rest } = await bringForeignWell(store, bad, mapping, true)
      const [, , second, third] = (rest?.text ?? '').split('\r\n')
      expect([second, third]).toEqual([
        expect.stringMatching(/^"?Weight lb: no se acepta “heavy”/),
        expect.stringMatching(/^"?Unit: .*“V-999”/),
      ])
    }))

  it('keep skipped lines, encoding and cells that begin as a formula does, so that they read back', () =>
    withFleet(async (store) => {
      const text = lines(
        'Bericht;',
        'Schein;Datum;Waage;Fahrzeug;Achse;Gewicht kg',
        "'=1+1;21.03.2025 14:30;Salt Bend Yard;T-101;steer;4,9 t",
        '=7;21.03.2025 14:30;Salt Bend Yard;T-101;drive;schwer',
        '9;21.03.2025 14:30;Salt Bend Yard;Ü-1;drive;1',
      )
      const mapping = {
        ...(await guessed(store, latin(text))),
        skipLines: 1,
        fields: {
          ticket: { column: 'Schein' },
          date: { column: 'Datum' },
          scale: { column: 'Waage' },
          unit: { column: 'Fahrzeug' },
          group: { column: 'Achse' },
          value: { column: 'Gewicht kg' },
        },
        decimal: 'comma' as const,
        layout: 'long' as const,
        encoding: 'windows-1252' as const,
      }
      const all = text.replace('4,9 t', 'x')
      expect((await bringForeignBadly(store, all, mapping, true)).canTakeGood).toBe(false)
      const { rest } = await bringForeignWell(store, latin(text), mapping, true)
      expect(rest?.text).not.toMatch(/(^|;)=/m)
      const mended = (rest?.text ?? '').replace(';schwer', ';9000,0').replace(';Ü-1;', ';T-101;')
      expect((await bringForeignWell(store, encodeText(mended, 'windows-1252'), mapping)).files[0]).toMatchObject({
        added: 2,
      })
      expect([weights(store, "'=1+1"), weights(store, '=7'), weights(store, '9')].map((rows) => rows.length)).toEqual([
        1, 1, 1,
      ])
      expect((weights(store, "'=1+1")[0] as unknown[])[2]).toBe(lb(4900))
    }))

  it('are not offered where the text itself is at fault, which is told with its line', () =>
    withFleet(async (store) => {
      const mapping = await guessed(store, longTickets)
      const torn = longTickets.replace('V-201', '"V-201')
      expect(await bringForeignBadly(store, torn, mapping)).toMatchObject({
        canTakeGood: false,
        problems: [{ line: 4, column: null }],
      })
      const broken = Buffer.concat([Buffer.from(longTickets), Buffer.from([0xff, 0xfe]), Buffer.from('\r\n')])
      expect(await bringForeignBadly(store, broken, mapping)).toMatchObject({
        canTakeGood: false,
        problems: [{ line: 6 }],
      })
      expect(await bringForeignBadly(store, '', mapping)).toMatchObject({ problems: [{ line: 1 }] })
      expect((await bringForeignBadly(store, 'a,b\r\n1,2\r\n', mapping)).problems[0]).toMatchObject({
        line: 1,
        accepted: expect.stringContaining('no column “') as string,
      })
    }))
})

it('a file that is none, or too large a folder, is refused in a sentence', () =>
  withFleet(async (store) => {
    const mapping = await guessed(store, longTickets)
    const { importForeign } = await import('#core/foreign/import-foreign.ts')
    for (const path of ['/nowhere/x.csv', import.meta.dirname])
      await expect(importForeign(store, { path, name: 'x', mapping, goodRows: false })).rejects.toMatchObject({
        code: 'no-file',
      })
  }))

it('UTF-16 with its byte order mark reads as the same file', () =>
  withFleet(async (store) => {
    const little = Buffer.from(`\ufeff${longTickets}`, 'utf16le')
    const big = Buffer.from(little).swap16()
    for (const file of [little, big]) {
      const mapping = await guessed(store, file)
      expect(mapping).toMatchObject({
        encoding: 'utf-16',
        delimiter: 'comma',
        dateOrder: 'month first',
        decimal: 'point',
        thousands: 'comma',
      })
      expect((await bringForeignWell(store, file, mapping)).files[0]?.read).toBe(4)
    }
  }))

describe('a number that can be read in two ways', () => {
  const tickets = (sign: string, weights: readonly [string, string], unit = 'lb') =>
    lines(
      ['Ticket', 'Weighed at', 'Scale', 'Unit', 'Axle group', `Weight ${unit}`].join(sign),
      ...weights.map((weight, at) =>
        [`7000${at}`, '03/21/2025 2:30 PM', 'Salt Bend Yard', 'T-101', ['drive', 'steer'][at], weight].join(sign),
      ),
    )
  const signs = ['\t', ';', '|']

  it.each(
    signs.flatMap(
      (sign) =>
        [
          [sign, ['33,940', '11,240'], 'lb', [33_940, 11_240]],
          [sign, ['33.940', '940'], 'lb', [33_940, 940]],
          [sign, ['8.640', '5.010'], 't', [lb(8640), lb(5010)]],
          [sign, ['8,640', '5,010'], 't', [lb(8640), lb(5010)]],
          [sign, ['15.390', '5,5'], 'kg', [lb(15_390), lb(5.5)]],
        ] as const,
    ),
  )('between %j means what an axle group can weigh: %j %s', (sign, cells, unit, expected) =>
    withFleet(async (store) => {
      const file = tickets(sign, cells, unit)
      const { mapping, gaps, rows } = await look(store, file)
      expect(gaps).toEqual([])
      expect(rows.flatMap(({ stored }) => stored.map(({ weightLb }) => weightLb))).toEqual(expected)
      await bringForeignWell(store, file, mapping)
      expect(weights(store, '70000')).toMatchObject([['T-101', 'drive', expected[0], '2025-03-21T20:30:00.000Z', null]])
    }),
  )

  it('is asked for where both make sense, and nothing is stored until a person has chosen', () =>
    withFleet(async (store) => {
      // Feet of elevation: a yard lies at 1.25 ft as well as at 1,250.
      const file = ['time\tserial\tpsi\televation ft', '2025-03-21T20:30:00Z\tPA-01044\t52\t1,250', ''].join('\n')
      const { mapping, gaps, rows } = await look(store, file)
      expect([mapping.decimal, gaps.length, rows[0]?.stored]).toEqual([null, 1, []])
      expect(gaps[0]).toMatch(/^Decimal sign: /)
      const before = wholeRecord(store)
      const { problems } = await bringForeignBadly(store, file, mapping)
      expect(problems[0]?.message).toMatch(/Decimal sign: .* choose the sign/)
      expect(wholeRecord(store)).toEqual(before)
      const chosen = { ...mapping, decimal: 'point', thousands: 'comma' } as const
      expect((await look(store, file, chosen)).rows[0]?.stored[0]?.elevationFt).toBe(1250)
      expect((await bringForeignWell(store, file, chosen)).rows).toBe(1)
    }))

  it('a group weight under 500 lb is warned of at its cell, and may be stored all the same', () =>
    withFleet(async (store) => {
      const file = tickets('\t', ['499.5', '500'])
      const { mapping, rows } = await look(store, file)
      expect(rows.map(({ light }) => light)).toEqual([[{ column: 'Weight lb', weightLb: 499.5 }], []])
      await bringForeignWell(store, file, mapping)
    }))
})
