import type { ChangePriors, LineNoise } from '#core/evidence/state/series.ts'
import type { RuleDefinition } from '#core/words/house-rules.ts'

/** The priors of the state of a line, in the shape of House Rules: what holds until the fleet has its own record. */
export const priorRuleDefinitions = {
  offsetsPerYear: {
    label: 'Unrecorded offsets of a line until the fleet has its own',
    unit: 'a group and year',
    default: 0.06,
    min: 0.0001,
    max: 10,
    source: 'A choice: one group in sixteen a year',
  },
  slopesPerYear: {
    label: 'Unrecorded changes of slope until the fleet has its own',
    unit: 'a group and year',
    default: 0.06,
    min: 0.0001,
    max: 10,
    source: 'A choice: as often as offsets',
  },
  driftsPerYear: {
    label: 'Drifts that begin until the fleet has its own',
    unit: 'a group and year',
    default: 0.03,
    min: 0.0001,
    max: 10,
    source: 'A choice: half as often as offsets',
  },
  offsetPsi: {
    label: 'Usual size of an offset',
    unit: 'psi',
    default: 2.5,
    min: 0.1,
    max: 50,
    source: 'Common practice: sensors are good to 1 to 1.5 psi, a pinched line or another sensor is off by more',
  },
  slopeShare: {
    label: 'Usual size of a change of slope',
    unit: 'share',
    default: 0.08,
    min: 0.005,
    max: 1,
    source: 'Common practice: an inch of ride height or another air spring changes the slope by 5 to 10 %',
  },
  driftPsiPerMonth: {
    label: 'Usual rate of a drift',
    unit: 'psi a month',
    default: 0.5,
    min: 0.01,
    max: 10,
    source: 'A choice: slow enough to be missed, fast enough to matter in a quarter',
  },
  wildShare: {
    label: 'Weighings that belong to no line (another truck, a wrong row)',
    unit: 'share',
    default: 0.004,
    min: 0.00001,
    max: 0.2,
    source: 'A choice: one weighing in 250',
  },
  wildPsi: {
    label: 'How far such weighings lie off',
    unit: 'psi',
    default: 10,
    min: 1,
    max: 100,
    source: 'A choice: any load between empty and full',
  },
  tailShare: {
    label: 'Settlings that are wild (air still building, a sticking valve) until the fleet has its own',
    unit: 'share',
    default: 0.02,
    min: 0.0001,
    max: 0.3,
    source: 'A choice: one settling in fifty',
  },
  tailScale: {
    label: 'How many times the ordinary spread such settlings have',
    unit: '',
    default: 3.5,
    min: 1.5,
    max: 20,
    source: 'A choice',
  },
  endsCorrelation: {
    label: 'How far both ends of a line wander together',
    unit: '',
    default: 0.8,
    min: 0,
    max: 0.99,
    source: 'A choice: most causes (a sensor’s offset, a ride height) move both ends',
  },
} as const satisfies Readonly<Record<string, RuleDefinition>>

const of = (key: keyof typeof priorRuleDefinitions): number => priorRuleDefinitions[key].default

export const defaultChangePriors: ChangePriors = {
  offsetsPerYear: of('offsetsPerYear'),
  slopesPerYear: of('slopesPerYear'),
  driftsPerYear: of('driftsPerYear'),
  offsetPsi: of('offsetPsi'),
  slopeShare: of('slopeShare'),
  driftPsiPerMonth: of('driftPsiPerMonth'),
  wildShare: of('wildShare'),
  wildPsi: of('wildPsi'),
}

export const defaultTail: Pick<LineNoise, 'tailShare' | 'tailScale' | 'endsCorrelation'> = {
  tailShare: of('tailShare'),
  tailScale: of('tailScale'),
  endsCorrelation: of('endsCorrelation'),
}
