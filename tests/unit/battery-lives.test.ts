import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type CellHistory, cellLives } from '#core/cells/lives.ts'

const dayMs = 86_400_000
const day = (n: number) => Date.UTC(2023, 0, 1) + n * dayMs
const change = (n: number, reason: string | null, cell: string | null = null) => ({ changedAt: day(n), reason, cell })
const history = (part: Partial<CellHistory>): CellHistory => ({
  serial: 'PA-1',
  cell: 'CR2450',
  reportEveryS: 300,
  mounts: [{ mountedAt: day(0), removedAt: null }],
  changes: [],
  ...part,
})
const told = (part: Partial<CellHistory>, asOf = 1000) => {
  const { lives, inService, issues } = cellLives(history(part), day(asOf), 'UTC')
  return {
    lives: lives.map(({ days, endedBy, died, cell, installAssumed }) => ({
      days,
      endedBy,
      died,
      cell,
      installAssumed,
    })),
    inService,
    issues: issues.map(({ code }) => code),
  }
}

describe('lives of cells', () => {
  it('takes how a life ended from the next change, and censors the one in service today', () => {
    const { lives, inService, issues } = told({
      changes: [change(0, 'new'), change(400, 'dead'), change(700, 'scheduled'), change(900, 'low', 'CR2477')],
    })
    expect(lives).toEqual([
      { days: 400, endedBy: 'dead', died: true, cell: 'CR2450', installAssumed: false },
      { days: 300, endedBy: 'scheduled', died: false, cell: 'CR2450', installAssumed: false },
      { days: 200, endedBy: 'low', died: false, cell: 'CR2450', installAssumed: false },
      { days: 100, endedBy: 'in service', died: false, cell: 'CR2477', installAssumed: false },
    ])
    expect(inService).toMatchObject({ installedAt: day(900), cell: 'CR2477' })
    expect(issues).toEqual([])
  })

  it('end a cell that was swapped dead where its sensor fell silent, and no other', () => {
    const swapped = (reason: string, silentBefore: number | null) => ({
      changes: [change(0, 'new'), { ...change(400, reason), silentBefore: silentBefore && day(silentBefore) }],
    })
    expect(told(swapped('dead', 370)).lives.map(({ days, endedBy }) => [days, endedBy])).toEqual([
      [370, 'dead'],
      [600, 'in service'],
    ])
    expect(told(swapped('dead', null)).lives[0]).toMatchObject({ days: 400, endedBy: 'dead' })
    expect(told(swapped('scheduled', 370)).lives[0]).toMatchObject({ days: 400, endedBy: 'scheduled' })
    // Silent since before the cell came in: it was not this one.
    expect(
      told({ changes: [change(380, 'new'), { ...change(400, 'dead'), silentBefore: day(370) }] }).lives[0],
    ).toMatchObject({ days: 20, endedBy: 'dead' })
  })

  it('assumes a fresh cell at the first mount where nothing tells, and says so', () => {
    expect(told({}).lives).toEqual([
      { days: 1000, endedBy: 'in service', died: false, cell: 'CR2450', installAssumed: true },
    ])
    expect(told({ changes: [change(300, 'dead')] }).lives[0]).toEqual({
      days: 300,
      endedBy: 'dead',
      died: true,
      cell: 'CR2450',
      installAssumed: true,
    })
  })

  it('looks at nothing later than the as-of time', () => {
    expect(told({ changes: [change(0, 'new'), change(400, 'dead')] }, 399).lives).toEqual([
      { days: 399, endedBy: 'in service', died: false, cell: 'CR2450', installAssumed: false },
    ])
    expect(told({}, -1)).toEqual({ lives: [], inService: null, issues: [] })
  })

  it('counts a cell whose sensor fell silent as dead since then', () => {
    const { lives, inService } = told({ changes: [change(0, 'new'), change(400, 'low')], silentSince: day(950) })
    expect(lives.slice(1)).toEqual([
      { days: 550, endedBy: 'silent', died: true, cell: 'CR2450', installAssumed: false },
    ])
    expect(inService).toMatchObject({ installedAt: day(400), deadSince: day(950) })
  })

  it('blames no cell for a silence older than itself or its mounting, nor one that was taken down', () => {
    const swapped = told({ changes: [change(0, 'new'), change(960, 'dead')], silentSince: day(950) })
    const moved = told({
      mounts: [
        { mountedAt: day(0), removedAt: day(940) },
        { mountedAt: day(950), removedAt: null },
      ],
      silentSince: day(950),
    })
    for (const { inService, lives } of [swapped, moved]) {
      expect(inService?.deadSince).toBeNull()
      expect(lives.at(-1)?.endedBy).toBe('in service')
    }
    const down = told({ mounts: [{ mountedAt: day(0), removedAt: day(980) }], silentSince: day(950) })
    expect([down.inService, down.lives.at(-1)?.endedBy]).toEqual([null, 'removed'])
  })

  it('censors the last cell at the removal of a sensor that was not mounted again', () => {
    const { lives, inService } = told({
      mounts: [
        { mountedAt: day(0), removedAt: day(50) },
        { mountedAt: day(80), removedAt: day(200) },
      ],
      changes: [change(0, 'new')],
    })
    expect(lives).toMatchObject([{ days: 200, endedBy: 'removed', died: false }])
    expect(inService).toBeNull()
  })

  it('reports each kind of contradiction and still derives lives', () => {
    expect(told({ changes: [change(0, 'new'), change(100, 'scheduled'), change(100, 'dead')] })).toMatchObject({
      issues: ['same-time-twice'],
      lives: [{ days: 100, endedBy: 'dead' }, { days: 900 }],
    })
    expect(told({ changes: [change(0, 'new'), change(100, 'new')] })).toMatchObject({
      issues: ['two-cells-at-once'],
      lives: [{ days: 100, died: false }, { days: 900 }],
    })
    expect(told({ changes: [change(-30, 'new')] })).toMatchObject({
      issues: ['changed-before-mounted'],
      lives: [{ days: 1030 }],
    })
    expect(told({ changes: [change(0, 'new')], mounts: [] })).toMatchObject({
      issues: ['changed-before-mounted'],
      lives: [],
      inService: null,
    })
    expect(told({ changes: [change(0, 'new'), change(9, 'lost')] })).toMatchObject({
      issues: ['unknown-reason'],
      lives: [{ endedBy: 'unknown', died: false }, {}],
    })
    expect(
      told({
        changes: [change(0, 'new')],
        mounts: [
          { mountedAt: day(0), removedAt: null },
          { mountedAt: day(50), removedAt: null },
        ],
      }).issues,
    ).toEqual(['mounts-overlap'])
    expect(told({ changes: [change(0, 'new')], mounts: [{ mountedAt: day(9), removedAt: day(1) }] }).issues).toContain(
      'removed-before-mounted',
    )
  })

  const anyHistory = fc.record({
    mounts: fc.array(
      fc.record({
        mountedAt: fc.integer({ min: -50, max: 60 }).map(day),
        removedAt: fc.option(fc.integer({ min: -50, max: 90 }).map(day)),
      }),
      { maxLength: 4 },
    ),
    changes: fc.array(
      fc.record({
        changedAt: fc.integer({ min: -50, max: 90 }).map(day),
        reason: fc.option(fc.constantFrom('new', 'scheduled', 'low', 'dead', 'odd')),
        cell: fc.option(fc.constantFrom('CR2450', 'CR2477')),
      }),
      { maxLength: 6 },
    ),
  })

  it('never crashes, never overlaps, never counts more deaths than are recorded, whatever the record', () => {
    fc.assert(
      fc.property(anyHistory, (part) => {
        const { lives, inService } = cellLives(history(part), day(70), 'UTC')
        lives.forEach((life, i) => {
          expect(life.days).toBeGreaterThan(0)
          expect(life.endedAt).toBeLessThanOrEqual(day(70))
          expect(life.installedAt).toBeGreaterThanOrEqual(lives[i - 1]?.endedAt ?? Number.NEGATIVE_INFINITY)
        })
        expect(lives.filter(({ died }) => died).length).toBeLessThanOrEqual(
          part.changes.filter(({ reason }) => reason === 'dead').length,
        )
        expect(lives.filter(({ endedBy }) => endedBy === 'in service').length).toBeLessThanOrEqual(
          inService === null ? 0 : 1,
        )
      }),
    )
  })

  it('does not depend on the order of the records', () => {
    fc.assert(
      fc.property(anyHistory, (part) => {
        const forth = cellLives(history(part), day(70), 'UTC')
        const back = cellLives(
          history({ mounts: [...part.mounts].reverse(), changes: [...part.changes].reverse() }),
          day(70),
          'UTC',
        )
        expect(back.lives).toEqual(forth.lives)
        expect(back.inService).toEqual(forth.inService)
      }),
    )
  })
})
