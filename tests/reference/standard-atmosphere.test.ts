import { describe, expect, it } from 'vitest'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { relativeError } from '#tests/reference/closeness.ts'
import standard from '#tests/reference/standard-atmosphere.json' with { type: 'json' }

const { data, published, computed } = standard
const { psi_Pa, inHg_Pa_0C, ft_m } = data.constants

describe('U.S. Standard Atmosphere 1976', () => {
  it.each(Object.entries(published.psi))(
    'has the customary pressure at %s ft (%d psi; 0.001 psi)',
    (elevationFt, psi) => {
      expect(Math.abs(atmosphericPsi(Number(elevationFt)) - psi)).toBeLessThan(0.001)
    },
  )

  it.each(data.altitude_ft.map((elevationFt, i) => [elevationFt, published.inHg[i] as number] as const))(
    'has the customary altimeter table at %d ft (%d inHg; 0.01 inHg)',
    (elevationFt, inHg) => {
      expect(Math.abs((atmosphericPsi(elevationFt) * psi_Pa) / inHg_Pa_0C - inHg)).toBeLessThan(0.01)
    },
  )

  it.each(data.altitude_ft.map((elevationFt, i) => [elevationFt, computed.psi[i] as number] as const))(
    'agrees with a recomputation at %d ft to 1e-6 relative',
    (elevationFt, psi) => {
      expect(relativeError(atmosphericPsi(elevationFt), psi)).toBeLessThan(1e-6)
    },
  )

  it.each([
    [1000, 89874.57],
    [5000, 54019.9],
  ])(
    'has the printed pressure at %d m (%d Pa) to 0.02 Pa, what rounding of the constants may do',
    (metres, pascals) => {
      expect(Math.abs(atmosphericPsi(metres / ft_m) * psi_Pa - pascals)).toBeLessThan(0.02)
    },
  )
})
