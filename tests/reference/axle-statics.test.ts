import { expect, it } from 'vitest'
import { exactWeight } from '#core/weight/correlated.ts'
import { estimateSteer, fifthWheelStatics, steerModel } from '#core/weight/steer.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import statics from '#tests/reference/axle-statics.json' with { type: 'json' }
import { relativeError } from '#tests/reference/closeness.ts'

const { wheelbase_in, fifth_wheel_ahead_of_drive_centre_in, unladen_steer_lb, unladen_drive_lb } =
  statics.data.fifth_wheel
const { steer_share_of_kingpin, steer_lb, drive_lb } = statics.computed

function example() {
  const result = fifthWheelStatics((wheelbase_in - fifth_wheel_ahead_of_drive_centre_in) / 12, wheelbase_in / 12)
  if (!result.ok) throw new Error(result.problem.message)
  return result.value
}

it('shares the kingpin load between steer and drive as the moment balance does (1e-9 relative)', () => {
  expect(relativeError(example().steerShare, steer_share_of_kingpin)).toBeLessThan(1e-9)
})

it('estimates the steer weight of the example from one empty ticket and the fifth wheel (1e-9 relative)', () => {
  const ticket = { weighedAt: 0, scaleId: 1, steerLb: unladen_steer_lb, driveLb: unladen_drive_lb, lift: null }
  const model = steerModel(
    { tickets: [ticket], statics: example(), driveLimitLb: 40_000 },
    null,
    () => undefined,
    defaultHouseRules,
  )
  if (!model.ok) throw new Error(model.problem.message)
  expect(model.value.basis).toBe('fifth wheel')
  expect(relativeError(estimateSteer(model.value, exactWeight(drive_lb)).weightLb, steer_lb)).toBeLessThan(1e-9)
})
