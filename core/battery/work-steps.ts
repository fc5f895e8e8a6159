import type { WorkKind } from '#core/battery/bench-visits.ts'

/** Stands wherever somebody is sent to work on a vehicle. */
export const cautions = [
  'Park on level ground, set the brakes and chock the wheels.',
  'Exhaust the suspension air before opening a line.',
  'Never work under a body or frame that is held up by air.',
  'Never tee into brake air.',
  'Keep new and used coin cells out of children’s reach: a swallowed one can kill within hours.',
  'Onboard weights are not legal-for-trade: a certified scale and the local authority’s rules decide.',
] as const

const steps: Record<WorkKind, readonly string[]> = {
  cell: [
    'Find the sensor by its serial.',
    'Open its housing, take the old cell out and note whether the sensor had still reported.',
    'Put the new cell in with the right side up, without touching both faces, and close the seal.',
    'Wait for the sensor’s next report; compare its pressure with a gauge if one is at hand.',
    'Record the swap with its date, the cell type and the reason: scheduled, low or dead.',
  ],
  recalibration: [
    'Weigh the unit empty on a certified scale: air built up, on level ground, the suspension settled.',
    'Note the pressure of every circuit at that moment, and where the lift axles stand.',
    'Weigh it again loaded near the limit, better at one more load between, and note the pressures each time.',
    'Enter the tickets and readings in the Scale House and make the calibration from them.',
  ],
  repair: [
    'Look for a leak at the lines, fittings and air springs of the circuit.',
    'Check the ride height against its setting, and the leveling valve with its link.',
    'Compare the sensor’s pressure with a gauge.',
    'Record what was done as an event: it tells whether the line still holds.',
  ],
}

export const stepsOf = (kind: WorkKind): readonly string[] => steps[kind]
