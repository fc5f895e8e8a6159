import { describe, expect, it } from 'vitest'
import { absorbLine } from '#core/evidence/scales/absorb-lines.ts'
import { judgeScales } from '#core/evidence/scales/hypotheses.ts'
import type { Stretch } from '#core/evidence/scales/stretch.ts'
import { halfUnit } from '#tests/reference/closeness.ts'
import robinson from '#tests/reference/robinson-blup.json' with { type: 'json' }

const { data, published, computed } = robinson
const sires = [...new Set(data.sire)].sort()

/** Far below the standard deviation that is given, so that no yield counts as wild; the predictions scale with it. */
const unit = 1e-3

const herds = [...Map.groupBy(data.herd.entries(), ([, herd]) => herd).values()].map((rows) => rows.map(([row]) => row))
const stretches = herds.map(
  (rows): Stretch => ({
    groupId: 1,
    wanderLb2PerMs: 0,
    weighings: rows.map((row) => ({
      scaleId: 1,
      at: 0,
      share: 0,
      lineLb: 1,
      missLb: (data.yield_hundreds[row] as number) * unit,
      varLb2: 1,
    })),
  }),
)

describe('sires in herds (Robinson 1991)', () => {
  const size = sires.length
  const equations = { size, information: new Float64Array(size * size), right: new Float64Array(size) }
  for (const [i, rows] of herds.entries()) {
    const places = rows.map((row) => sires.indexOf(data.sire[row] as string))
    absorbLine(stretches[i] as Stretch, { places, gains: sires.map(() => 0), noise: 1 }, equations)
  }
  const found = judgeScales(
    equations,
    sires.map(() => [Math.sqrt(data.variance_of_sires_over_variance_of_yields)] as const),
    0.05,
  )

  it('gives the printed predictions of the sires, herds eliminated', () => {
    published.sires.forEach((effect, i) => {
      expect(Math.abs((found.gains[i] as number) / unit - effect)).toBeLessThan(halfUnit(2))
    })
  })

  it('agrees with the equations solved directly, covariance and all', () => {
    computed.sires.forEach((effect, i) => {
      expect(Math.abs((found.gains[i] as number) / unit - effect)).toBeLessThan(1e-6)
      computed.covariance_over_variance_of_yields[i]?.forEach((covariance, j) => {
        expect(Math.abs((found.covariance[i * size + j] as number) - covariance)).toBeLessThan(1e-6)
      })
    })
  })
})
