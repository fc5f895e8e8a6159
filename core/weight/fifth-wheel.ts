import { type Result, ok, refuse } from '#core/fleet/problem.ts'

/** Half of a slider notch: what a recorded fifth-wheel position may be off by, ft, taken as rectangular. */
const fifthWheelHalfWidthFt = 0.25
/** A recorded axle position to the nearest inch or two, ft, taken as rectangular. */
const axleHalfWidthFt = 0.1

/** How a kingpin load divides between steer and drive, with standard uncertainties. */
export interface FifthWheelStatics {
  readonly fifthWheelFt: number
  /** From the front axle to the middle of the drive group. */
  readonly wheelbaseFt: number
  /**
   * Share of the kingpin load that comes on the steer axle; below zero with the fifth wheel behind the drive group's
   * middle.
   */
  readonly steerShare: number
  /** Pounds on the steer axle per pound on the drive group. */
  readonly slope: number
  readonly uSlope: number
}

/**
 * Moment balance of the kingpin load about the drive group, with the fifth wheel a distance f and the middle of the
 * drive group a distance c behind the front axle:
 *   share on the steer axle = (c - f)/c,   steer per drive = (c - f)/f,   u² = (u(c)/f)² + (c u(f)/f²)².
 *
 * Units: ft, lb/lb. Holds for one drive group on level ground; a pusher or tag axle changes it.
 * Errors (as values): not-positive. Source: elementary statics; u from half a slider notch and the nearest inch or two.
 */
export function fifthWheelStatics(fifthWheelFt: number, wheelbaseFt: number): Result<FifthWheelStatics> {
  if (!(fifthWheelFt > 0 && wheelbaseFt > 0 && Number.isFinite(fifthWheelFt + wheelbaseFt))) {
    return refuse({
      code: 'not-positive',
      field: 'fifth_wheel_ft',
      value: `${fifthWheelFt} ft with the drive group at ${wheelbaseFt} ft`,
      accepted: 'distances above zero behind the front axle',
      message: `A fifth wheel ${fifthWheelFt} ft and a drive group ${wheelbaseFt} ft behind the front axle: both must be above zero.`,
    })
  }
  const uF = fifthWheelHalfWidthFt / Math.sqrt(3)
  const uC = axleHalfWidthFt / Math.sqrt(3)
  return ok({
    fifthWheelFt,
    wheelbaseFt,
    steerShare: (wheelbaseFt - fifthWheelFt) / wheelbaseFt,
    slope: (wheelbaseFt - fifthWheelFt) / fifthWheelFt,
    uSlope: Math.hypot(uC / fifthWheelFt, (wheelbaseFt * uF) / (fifthWheelFt * fifthWheelFt)),
  })
}
