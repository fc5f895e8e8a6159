import { atmosphericPsi } from '#core/evidence/pressure.ts'
import type { PressureReference } from '#core/words/vocabulary.ts'
import { monthMs } from './clock.ts'
import type { Random } from './random.ts'

/** One pressure sensor: its data sheet, and its own constant errors, which no one knows. */
export interface Sensor {
  readonly serial: string
  readonly reference: PressureReference
  readonly rangePsi: number
  readonly resolutionPsi: number
  readonly accuracyPsi: number
  readonly cell: string
  readonly reportEveryS: number
  offsetPsi: number
  gain: number
  drift: { readonly from: number; readonly psiPerMonth: number } | null
}

interface SensorModel {
  readonly prefix: string
  readonly rangePsi: number
  readonly resolutionPsi: number
  readonly accuracyPsi: number
  readonly cell: string
  readonly reportEveryS: number
}

/** Two generations of an invented sensor; the cells are standard sizes (IEC 60086-3). */
const models: readonly (readonly [model: SensorModel, weight: number])[] = [
  [{ prefix: 'PA', rangePsi: 150, resolutionPsi: 0.1, accuracyPsi: 1, cell: 'CR2477', reportEveryS: 300 }, 5],
  [{ prefix: 'PA', rangePsi: 150, resolutionPsi: 0.1, accuracyPsi: 1, cell: 'CR2477', reportEveryS: 900 }, 3],
  [{ prefix: 'PB', rangePsi: 200, resolutionPsi: 0.5, accuracyPsi: 1.5, cell: 'CR2450', reportEveryS: 600 }, 2],
]

export function makeSensor(number: number, absoluteShare: number, random: Random): Sensor {
  const { prefix, ...model } = random.weighted(models)
  return {
    ...model,
    serial: `${prefix}-${String(number).padStart(5, '0')}`,
    reference: random.chance(absoluteShare) ? 'absolute' : 'gauge',
    offsetPsi: random.clippedNormal(model.accuracyPsi / 2, model.accuracyPsi),
    gain: random.clippedNormal(0.004, 0.01),
    drift: null,
  }
}

/**
 * Standard deviation of the weather's part of the atmospheric pressure in psi (about ± 0.3 psi at most); common
 * knowledge.
 */
const weatherPsi = 0.1

/** What the sensor shows in psi for a true gauge pressure, rounded to its resolution. */
export function sensedPsi(sensor: Sensor, gaugePsi: number, at: number, elevationFt: number, random: Random): number {
  const drifted =
    sensor.drift !== null && at > sensor.drift.from
      ? ((at - sensor.drift.from) / monthMs) * sensor.drift.psiPerMonth
      : 0
  const air = sensor.reference === 'absolute' ? atmosphericPsi(elevationFt) + random.normal(weatherPsi) : 0
  const shown = gaugePsi * (1 + sensor.gain) + sensor.offsetPsi + drifted + air
  const steps = Math.round(shown / sensor.resolutionPsi)
  return Math.max(0, Math.round(steps * sensor.resolutionPsi * 1000) / 1000)
}
