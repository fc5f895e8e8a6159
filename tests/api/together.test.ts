import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import { figuresFromText } from '#core/cells/fleet-figures.ts'
import { type GroupOutcome, judgeWeighIn } from '#core/findings/weigh-in.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'
import { runAppOn } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { folderRows, folderText } from '#tests/fleet/folder.ts'
import { addTagTruck, onOnePlatform, tagTruckLb } from '#tests/fleet/tag-truck.ts'
import { hourOfVisit } from '#tests/fleet/typed.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'

const at = (hour: number) => hourOfVisit(timeNow(), hour)
const psi = [60, 54] as const
const cleanLb = tagTruckLb.drive(60) + tagTruckLb.tag(54)
const visit = { units: ['D-4'], scale: 'Pit', localZone: null, calibrate: [], by: 'Ada' }
const ticket = (number: string, hour: number, offLb: number) =>
  onOnePlatform('D-4', { ticket: number, weighedAt: at(hour), bothLb: cleanLb + offLb }, psi)

function tagFleet(): Record<string, string> {
  const rows = folderRows()
  rows.scales.push({ scale: 'Pit', division_lb: 20, tolerance_percent: 0.2 })
  addTagTruck(rows, 'D-4', 'Pit', (load) => new Date(timeNow() - (40 - load) * 86_400_000).toISOString())
  return folderText(rows)
}

describe('two groups on one platform', () => {
  let app: RunningApp
  let client: Client
  beforeAll(async () => {
    const window = await openWindow(await runAppOn(tagFleet()))
    ;({ app, client } = window)
    return window.end
  })

  const settled = () => app.context.fleet.use((store) => catchUp(store, timeNow()))
  const sheet = () => client.unit.sheet({ unit: 'D-4' })
  const group = async (name: string) => {
    const found = (await sheet()).groups.find((each) => each.name === name)
    if (!found) throw new Error(`no group ${name}`)
    return found
  }
  const messages = async () =>
    (await sheet()).findings.filter(({ ticket: of }) => of !== null).map((found) => `${found.group}: ${found.message}`)
  const ticketId = async (number: string) => {
    const row = (await client.evidence.tickets({ text: number })).rows[0]
    if (!row) throw new Error(`no ticket ${number}`)
    return row.id
  }
  const undo = async () => client.log.undo({ revision: (await client.log.last())?.revision ?? 0, by: 'Ada' })

  it('say before they are saved what is found afterwards', async () => {
    const prepared = await client.weighIn.prepare({ units: ['D-4'] })
    const learnt = prepared.figures === null ? undefined : figuresFromText(prepared.figures)
    const tickets = [ticket('T1', 0, 2600), ticket('T2', 3, 2500)]
    const idOf = (name: string) => prepared.units[0]?.groups.find((each) => each.group === name)?.groupId as number
    const outcome = judgeWeighIn(
      {
        ...prepared,
        scales: new Map(prepared.scales.map((scale) => [scale.scaleId, scale])),
        estimates: learnt?.estimates as never,
        heardUntil: learnt?.heardUntil,
      },
      tickets.map(({ ticket: number, weighedAt, grossLb, together, reading }) => ({
        ticket: number,
        weighedAt: Date.parse(weighedAt),
        scaleId: prepared.scales[0]?.scaleId as number,
        grossLb,
        elevationFt: null,
        lift: null,
        weightsLb: new Map([[idOf('steer'), 11_000]]),
        together: [{ groupIds: [idOf('drive'), idOf('tag')] as const, weightLb: together[0]?.weightLb as number }],
        psi: new Map(reading.pressures.map((each) => [idOf(each.group), [each.psi]])),
      })),
      new Set(),
      timeNow(),
    )
    expect(outcome.tickets).toEqual([[], []])
    const said = ({ history, after }: GroupOutcome) =>
      after.findings.map(
        (finding) => `${history.group}: ${sayFinding(finding, sayStored(prepared.rules.zone)).message}`,
      )
    const previewed = outcome.groups.flatMap(said)
    expect(previewed.some((text) => text.includes('on one platform'))).toBe(true)

    await client.weighIn.save({ ...visit, tickets })
    await settled()
    const stored = (await sheet()).findings.map((found) => `${found.group}: ${found.message}`)
    expect(stored.filter((text) => text.includes('one platform')).sort()).toEqual(
      previewed.filter((text) => text.includes('one platform')).sort(),
    )
    for (const name of ['drive', 'tag']) {
      const { trust, sums, track, weighNext: _ } = await group(name)
      expect(trust).toBe('doubtful')
      expect(track?.lives.at(-1)?.checks).toEqual([])
      expect(sums.map(({ ticket: number, withGroup }) => [number, withGroup])).toEqual([
        ['T2', name === 'drive' ? 'tag' : 'drive'],
        ['T1', name === 'drive' ? 'tag' : 'drive'],
      ])
      expect(sums[0]?.missLb).toBeGreaterThan(2000)
    }
  })

  it('count for both: the ticket is complete, and adds up to its gross', async () => {
    const rows = (await client.evidence.tickets({ text: 'T1' })).rows
    expect(rows[0]?.weights).toEqual([
      { place: 'D-4 steer', value: 11_000 },
      { place: 'D-4 drive + tag', value: cleanLb + 2600 },
    ])
    const { pairs, values, findings } = await client.evidence.sheet({ kind: 'ticket', id: await ticketId('T1') })
    expect(pairs).toEqual([
      { place: 'D-4 steer + drive', of: ['D-4 steer', 'D-4 drive'] },
      { place: 'D-4 drive + tag', of: ['D-4 drive', 'D-4 tag'] },
    ])
    expect(values['D-4 drive + tag_lb']).toBe(cleanLb + 2600)
    expect(findings.map(({ code }) => code)).not.toContain('ticket-sum-mismatch')
  })

  const correct = async (number: string, was: object, now: object, tryOut = false) =>
    safe(
      client.evidence.correct({
        kind: 'ticket',
        id: await ticketId(number),
        was: was as Record<string, number | null>,
        now: now as Record<string, number | null>,
        reason: 'The paper says so',
        by: 'Ada',
        tryOut,
      }),
    )

  it('are corrected, and what followed goes with it', async () => {
    const pair = 'D-4 drive + tag_lb'
    for (const [number, off] of [
      ['T1', 2600],
      ['T2', 2500],
    ] as const) {
      const { error } = await correct(
        number,
        { [pair]: cleanLb + off, gross_lb: 11_000 + cleanLb + off },
        { [pair]: cleanLb, gross_lb: 11_000 + cleanLb },
      )
      expect(error).toBeNull()
    }
    await settled()
    expect(await messages()).toEqual([])
    await undo()
    await settled()
    expect((await messages()).every((text) => text.includes('one platform'))).toBe(true)
    await correct('T2', { [pair]: cleanLb + 2500 }, { [pair]: cleanLb })
  })

  it('become two weights when they stood apart after all, and one again', async () => {
    const apart = { 'D-4 drive_lb': tagTruckLb.drive(60), 'D-4 tag_lb': tagTruckLb.tag(54) }
    const none = { 'D-4 drive_lb': null, 'D-4 tag_lb': null }
    const both = { 'D-4 drive + tag_lb': cleanLb }
    const { error } = await correct('T1', none, apart)
    expect(error).toMatchObject({ code: 'REFUSED', message: expect.stringContaining('weighed alone') })
    expect((await correct('T1', { ...none, ...both }, { ...apart, 'D-4 drive + tag_lb': null })).error).toBeNull()
    await settled()
    expect((await group('drive')).track?.lives.at(-1)?.checks.map(({ ticket: number }) => number)).toEqual(['T1'])
    expect((await group('drive')).sums.map(({ ticket: number }) => number)).toEqual(['T2'])
    await undo()
    await settled()
    expect((await group('drive')).sums.map(({ ticket: number }) => number)).toEqual(['T2', 'T1'])
  })

  it('go with their ticket when the visit is undone', async () => {
    await client.weighIn.save({ ...visit, tickets: [ticket('T3', 5, 0)] })
    await undo()
    expect((await client.evidence.tickets({ text: 'T3' })).rows).toEqual([])
  })

  it.each([
    ['a group alone and together', { weights: [{ unit: 'D-4', group: 'tag', weightLb: 9000 }] }, 'twice'],
    [
      'a group with itself',
      { together: [{ unit: 'D-4', groups: ['tag', 'tag'] as [string, string], weightLb: 9000 }] },
      'twice',
    ],
    [
      'a group that is not there',
      { together: [{ unit: 'D-4', groups: ['drive', 'pusher'] as [string, string], weightLb: 9000 }] },
      'no-such-group',
    ],
  ])('are refused of %s', async (_, change, code) => {
    const { error } = await safe(client.weighIn.save({ ...visit, tickets: [{ ...ticket('T9', 6, 0), ...change }] }))
    expect(error).toMatchObject({ data: { code } })
  })

  it('calibrate neither line', async () => {
    const tickets = [ticket('T7', 7, 0), ticket('T8', 8, 0)]
    const { error } = await safe(
      client.weighIn.save({ ...visit, tickets, calibrate: [{ unit: 'D-4', group: 'drive' }] }),
    )
    expect(error).toMatchObject({ data: { code: 'too-few-points' } })
  })
})
