import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { z } from 'zod'
import { runHere as tareline } from '#tests/command/run-here.ts'
import { heavyFleet } from '#tests/exchange/heavy-fleet.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import fhwa from '#tests/reference/fhwa-bridge-formula.json' with { type: 'json' }

const verdict = z.enum(['under', 'too close to call', 'over']).nullable()
const number = z.number().nullable()
/** The best weight, by all evidence, and beside it what the lines in use read. */
const weights = { weight_lb: number, u_lb: number, line_weight_lb: number, u_line_lb: number }

/** The format of design section 9, with what was added to it; nothing else. */
const weighings = z.array(
  z.strictObject({
    reading: z.string(),
    taken_at: z.string(),
    lift: z.string().nullable(),
    groups: z.array(
      z.strictObject({
        unit: z.string(),
        group: z.string(),
        ...weights,
        limit_lb: z.number(),
        p_over: number,
        verdict,
        source: z.enum(['line', 'provisional', 'estimate', 'ticket', 'raised']).optional(),
        provisional: z.literal(true).optional(),
        // Not known while one weighing alone speaks of a change.
        room_left_lb: number.optional(),
        psi: z.number().optional(),
        target_psi: number.optional(),
        calibrated_at: z.string().optional(),
        reason: z.string().optional(),
        message: z.string().optional(),
        steer_check: z
          .strictObject({
            tickets: z.number(),
            slope_tickets: z.number(),
            slope_statics: z.number(),
            difference_lb: z.number(),
            u_difference_lb: z.number(),
            z: z.number(),
            implied_fifth_wheel_ft: z.number(),
            disagree: z.boolean(),
          })
          .optional(),
      }),
    ),
    gross: z.strictObject({
      ...weights,
      limit_lb: z.number(),
      p_over: number,
      verdict,
      tare_lb: number,
      cargo_lb: number,
      u_cargo_lb: number,
      room_left_lb: number,
      weighed_lb: z.number(),
      missing: z.array(z.strictObject({ unit: z.string(), group: z.string(), reason: z.string() })),
    }),
    bridge: z.array(
      z.strictObject({
        first_axle: z.number(),
        last_axle: z.number(),
        axles: z.number(),
        length_ft: z.number(),
        limit_lb: z.number(),
        basis: z.string(),
        name: z.string().nullable(),
        ...weights,
        p_over: number,
        verdict,
      }),
    ),
    bridge_gaps: z.array(z.string()).optional(),
  }),
)

/** Whether the formula lands exactly between two steps of 500 lb: there the tables of authorities differ. */
const isTie = (axles: number, feet: number): boolean =>
  (2 * (feet * axles + (12 * axles + 36) * (axles - 1))) % (2 * (axles - 1)) === axles - 1

const folder = mkdtempSync(join(tmpdir(), 'tareline-weigh-'))
const db = join(folder, 'fleet.tareline')
beforeAll(async () => {
  writeFiles(join(folder, 'fleet'), heavyFleet())
  expect((await tareline('import', join(folder, 'fleet'), '--db', db)).exit).toBe(0)
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('weigh', () => {
  const weighAll = async () => weighings.parse(JSON.parse((await tareline('weigh', '--db', db, '--json')).out))

  it('prints every reading as one document in the format, every group of its combination among them', async () => {
    const all = await weighAll()
    expect(all.map(({ reading }) => reading)).toEqual([
      'R-1',
      'R-2',
      'R-3',
      'R-4',
      'R-5',
      'R-6',
      'R-10',
      'R-11',
      'R-12',
    ])
    for (const { reading, groups, bridge } of all) {
      expect(groups.map(({ unit, group }) => `${unit} ${group}`)).toEqual(
        reading === 'R-6' ? ['T-101 steer', 'T-101 drive'] : ['T-101 steer', 'T-101 drive', 'V-201 tandem'],
      )
      expect(bridge).toHaveLength(reading === 'R-6' ? 3 : 10)
    }
  })

  it('tells weights, how sure, room left and target pressures that fit together', async () => {
    const heavy = (await weighAll()).find(({ reading }) => reading === 'R-10')
    if (!heavy) throw new Error('R-10 is missing')
    const [steer, drive, tandem] = heavy.groups
    expect([steer?.source, drive?.source, tandem?.source]).toEqual(['estimate', 'line', 'line'])
    expect(drive).toMatchObject({ verdict: 'over', limit_lb: 34_000, psi: 70 })
    expect(drive?.weight_lb).toBeGreaterThan(34_800)
    expect(drive?.room_left_lb).toBeLessThan(-800)
    expect(drive?.target_psi).toBeLessThan(67)
    expect(heavy.gross.weight_lb).toBeCloseTo(
      (steer?.weight_lb ?? 0) + (drive?.weight_lb ?? 0) + (tandem?.weight_lb ?? 0),
      0,
    )
    expect(heavy.gross.cargo_lb).toBeCloseTo((heavy.gross.weight_lb ?? 0) - (heavy.gross.tare_lb ?? 0), 0)
    // The empty ticket of the combination: 10,120 + 12,080 + 9,340 lb.
    expect(heavy.gross.tare_lb).toBe(31_540)
    expect(heavy.bridge.find(({ name }) => name === 'inner bridge')).toMatchObject({ first_axle: 2, last_axle: 5 })
    expect(steer?.steer_check).toMatchObject({ tickets: 6, disagree: false })
  })

  it('says why a group has no weight and what gross lacks', async () => {
    const early = (await weighAll()).find(({ reading }) => reading === 'R-6')
    expect(early?.groups[1]?.verdict).toBe('under')
    const { exit, out } = await tareline('weigh', '--db', db, '--reading', 'R-6')
    expect([exit, out.includes('T-101 steer'), out.includes('Onboard weights are not legal for trade')]).toEqual([
      0,
      true,
      true,
    ])
  })

  it('tells what the lines in use read beside the best weights, of groups, gross and bridge sets', async () => {
    const heavy = (await weighAll()).find(({ reading }) => reading === 'R-10')
    if (!heavy) throw new Error('R-10 is missing')
    const rows = [...heavy.groups, heavy.gross, ...heavy.bridge]
    expect(rows).toHaveLength(14)
    for (const { weight_lb, u_lb, line_weight_lb, u_line_lb } of rows) {
      // Its weighings agree with its lines: the two lie within their own uncertainties, and are not the same figure.
      expect(Math.abs((weight_lb ?? 0) - (line_weight_lb ?? 0))).toBeLessThan(2 * Math.hypot(u_lb ?? 0, u_line_lb ?? 0))
      expect(line_weight_lb).not.toBe(weight_lb)
    }
    const sum = heavy.groups.reduce((total, { line_weight_lb }) => total + (line_weight_lb ?? 0), 0)
    expect(heavy.gross.line_weight_lb).toBeCloseTo(sum, 0)
  })

  it('weighs by what was known on a day', async () => {
    const asOf = async (day: string) =>
      weighings.parse(JSON.parse((await tareline('weigh', '--db', db, '--as-of', day, '--json')).out))
    const then = await asOf('2025-04-01')
    expect(then.map(({ reading }) => reading)).toEqual(['R-1', 'R-2', 'R-3', 'R-4', 'R-10'])
    const now = (await weighAll()).filter(({ reading }) => then.some((one) => one.reading === reading))
    // The lines are of before; a check of July is evidence of today's weights, not yet of those of that day.
    const byLine = (list: typeof now) =>
      list.map(({ groups }) => groups.filter(({ source }) => source === 'line').map((group) => group.line_weight_lb))
    expect(byLine(then)).toEqual(byLine(now))
    const drive = (list: typeof now) => list.find(({ reading }) => reading === 'R-10')?.groups[1]
    expect(drive(now)?.weight_lb).not.toBe(drive(then)?.weight_lb)
    expect(drive(now)?.u_lb).toBeLessThan(drive(then)?.u_lb ?? 0)
    expect(await asOf('2020-01-01')).toEqual([])
    const refused = await tareline('weigh', '--db', db, '--reading', 'R-11', '--as-of', '2025-04-01')
    expect([refused.exit, refused.error.includes('There is no reading R-11 in this file by that day.')]).toEqual([
      2,
      true,
    ])
    const odd = await tareline('weigh', '--db', db, '--as-of', 'spring')
    expect([odd.exit, odd.error.includes('--as-of is "spring"')]).toEqual([2, true])
  })

  it('weighs one reading as it does among all', async () => {
    const one = weighings.parse(JSON.parse((await tareline('weigh', '--db', db, '--reading', 'R-10', '--json')).out))
    expect(one).toEqual((await weighAll()).filter(({ reading }) => reading === 'R-10'))
  })

  it('prints a line a reading for people, and refuses a reading that is not there', async () => {
    const { out } = await tareline('weigh', '--db', db)
    expect(out.trim().split('\n')).toHaveLength(9)
    expect(out).toMatch(/^R-10 {2}T-101 \+ V-201 {2}gross 78,\d\d0 lb/m)
    const refused = await tareline('weigh', '--db', db, '--reading', 'R-99', '--json')
    expect([refused.exit, JSON.parse(refused.out).error.code]).toEqual([2, 'no-such-reading'])
    expect((await tareline('weigh', '--db', join(folder, 'none.tareline'))).exit).toBe(2)
  })

  it('prints an empty document of a fleet without readings', async () => {
    writeFiles(join(folder, 'bare'), { 'yards.csv': 'yard,elevation_ft\nCinder Gap,6210\n' })
    const bare = join(folder, 'bare.tareline')
    await tareline('import', join(folder, 'bare'), '--db', bare)
    expect(JSON.parse((await tareline('weigh', '--db', bare, '--json')).out)).toEqual([])
    expect(JSON.parse((await tareline('heavy', '--db', bare, '--json')).out)).toEqual([])
    expect((await tareline('heavy', '--db', bare)).out).toBe('Nothing was weighed heavy.\n')
    expect(JSON.parse((await tareline('heavy', '--db', bare, '--by', 'offender', '--json')).out)).toEqual([])
  })
})

describe('heavy', () => {
  const heavy = async (...args: string[]) =>
    JSON.parse((await tareline('heavy', '--db', db, '--json', ...args)).out) as Record<string, unknown>[]
  const named = (entries: Record<string, unknown>[]) =>
    entries.map(({ reading, ticket, verdict: said }) => [reading ?? ticket, said])

  it('lists what was over, in the order of time; with --close also what is too close to call', async () => {
    expect(named(await heavy())).toEqual([
      ['R-10', 'over'],
      ['30600', 'over'],
    ])
    expect(named(await heavy('--close'))).toEqual([
      ['R-10', 'over'],
      ['R-11', 'too close to call'],
      ['30600', 'over'],
    ])
    expect(Object.keys((await heavy())[0] ?? {})).toEqual([
      'reading',
      'scale',
      'ticket',
      'source',
      'weighed_at',
      'unit',
      'units',
      'yard',
      'limit',
      'group',
      'first_axle',
      'last_axle',
      'length_ft',
      'more_sets',
      'weight_lb',
      'u_lb',
      'line_weight_lb',
      'u_line_lb',
      'line_verdict',
      'provisional',
      'limit_lb',
      'over_lb',
      'p_over',
      'verdict',
      'superseded',
      'note',
    ])
    expect((await heavy())[1]).toMatchObject({
      scale: 'Salt Bend Yard',
      source: 'ticket',
      unit: 'V-201',
      units: ['T-101', 'V-201'],
      limit: 'group',
      group: 'tandem',
      weight_lb: 34_700,
      over_lb: 700,
      superseded: false,
    })
  })

  it('takes days, both included, and a unit', async () => {
    expect(named(await heavy('--close', '--from', '2025-04-02', '--to', '2025-04-02'))).toEqual([
      ['R-11', 'too close to call'],
    ])
    expect(named(await heavy('--unit', 'V-201'))).toEqual([['30600', 'over']])
    expect(named(await heavy('--to', '2025-04-01T14:59:59Z'))).toEqual([])
  })

  it.each([
    [['--from', 'spring'], '--from is "spring"'],
    [['--by', 'colour'], '--by is "colour"'],
    [['--unit', 'T-9'], 'There is no unit T-9'],
  ])('refuses %j with a sentence', async (args, sentence) => {
    const { exit, error } = await tareline('heavy', '--db', db, ...args)
    expect([exit, error.includes(sentence)]).toEqual([2, true])
  })

  it('counts by unit, month, yard and limit, and ranks', async () => {
    expect(await heavy('--by', 'unit')).toEqual([
      {
        weighings: 11,
        over: 2,
        close: 1,
        unit: 'T-101',
        kind: 'tractor',
        yard: 'Cinder Gap',
        worst_lb: expect.any(Number),
      },
      { weighings: 9, over: 1, close: 0, unit: 'V-201', kind: 'trailer', yard: 'Larch Hollow', worst_lb: 700 },
    ])
    expect(await heavy('--by', 'month', '--from', '2025-04-01', '--to', '2025-05-31')).toEqual([
      { weighings: 2, over: 1, close: 1, month: '2025-04' },
      { weighings: 2, over: 1, close: 0, month: '2025-05' },
    ])
    expect(await heavy('--by', 'yard')).toEqual([{ weighings: 11, over: 2, close: 1, yard: 'Cinder Gap' }])
    expect(
      (await heavy('--by', 'limit')).map(({ limit, role, verdict: said, weights: count }) => [
        limit,
        role,
        said,
        count,
      ]),
    ).toEqual([
      ['group', 'drive', 'over', 1],
      ['group', 'drive', 'too close to call', 1],
      ['group', 'trailer', 'over', 1],
    ])
    const [worst] = await heavy('--by', 'offender')
    expect(worst).toMatchObject({ unit: 'T-101', weighings: 11, over: 2 })
    expect(worst?.['shrunk_rate']).toBeGreaterThan(0.1)
  })
})

describe('bridge', () => {
  it('equals the published table in every cell but exact ties and the documented exceptions', async () => {
    let compared = 0
    for (const [feet, row] of Object.entries(fhwa.computed.table_even_L_ft)) {
      for (const [i, limitLb] of row.entries()) {
        const axles = fhwa.computed.table_columns_axles[i] as number
        if (limitLb === null || (Number(feet) > 8 && isTie(axles, Number(feet)))) continue
        const { out } = await tareline('bridge', '--axles', String(axles), '--feet', feet, '--json')
        expect({ axles, feet, ...JSON.parse(out) }).toEqual({ axles, feet, limit_lb: limitLb })
        compared += 1
      }
    }
    expect(compared).toBe(120)
  })

  it('lists every set of consecutive axles of units with its limit', async () => {
    const { exit, out } = await tareline('bridge', '--db', db, '--units', 'V-201,T-101', '--json')
    const sets = JSON.parse(out) as Record<string, unknown>[]
    expect([exit, sets.length]).toEqual([0, 10])
    expect(sets.map(({ first_axle, last_axle }) => [first_axle, last_axle])).toEqual([
      [1, 2],
      [1, 3],
      [1, 4],
      [1, 5],
      [2, 3],
      [2, 4],
      [2, 5],
      [3, 4],
      [3, 5],
      [4, 5],
    ])
    // Drive axles at 16.8 and 21.1 ft, the trailer's at 17.4 + 40.5 and 4.1 ft behind: 45.2 ft between the outer four,
    // 45 ft in the table.
    expect(sets[6]).toEqual({
      first_axle: 2,
      last_axle: 5,
      axles: 4,
      length_ft: 45.2,
      limit_lb: 72_000,
      basis: 'bridge formula',
      name: 'inner bridge',
      weight_lb: null,
      u_lb: null,
      line_weight_lb: null,
      u_line_lb: null,
      p_over: null,
      verdict: null,
    })
  })

  it('adds the weights of a reading', async () => {
    const sets = JSON.parse(
      (await tareline('bridge', '--db', db, '--units', 'T-101,V-201', '--reading', 'R-10', '--json')).out,
    ) as Record<string, unknown>[]
    expect(sets.find(({ first_axle, last_axle }) => first_axle === 2 && last_axle === 3)).toMatchObject({
      limit_lb: 34_000,
      basis: 'tandem',
      verdict: 'over',
    })
    expect(sets.every(({ weight_lb }) => typeof weight_lb === 'number')).toBe(true)
  })

  it.each([
    [['--axles', '2.5', '--feet', '10'], '--axles is 2.5'],
    [['--axles', '5'], '--axles and --feet are needed together'],
    [['--axles', '5', '--feet', '900'], '--feet is 900'],
    [['--db', db], '--units or --reading is missing'],
    [['--db', db, '--units', 'T-9'], 'There is no unit T-9'],
    [['--db', db, '--units', 'T-101', '--reading', 'R-10'], 'Reading R-10 is of T-101 with V-201'],
    [['--db', db, '--units', 'T-101', '--lift', 'up'], '--lift is "up"'],
    [['--db', db, '--units', 'T-101', '--axles', '3'], '--db is not accepted with them'],
  ])('refuses %j with a sentence', async (args, sentence) => {
    const { exit, error } = await tareline('bridge', ...args)
    expect([exit, error.includes(sentence)]).toEqual([2, true])
  })
})
