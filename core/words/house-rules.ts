import { type MeasuredKind, measureSystems } from '#core/words/measures.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

export interface RuleDefinition {
  readonly label: string
  readonly unit: string
  readonly default: number
  readonly min: number
  readonly max: number
  /**
   * Where the default comes from: a published source, or plainly common trade practice. One that tells weights is given
   * how they are written, since the fleet may read them in kg.
   */
  readonly source: string | ((weight: (lb: number) => string) => string)
  /** For a rule that is chosen, not measured: the words of the values 0, 1 and on. */
  readonly choices?: readonly string[]
  /** Says only how things are shown: no judgement and no weight follows from it. */
  readonly shownOnly?: true
}

/** What a rule's value measures, and what its unit says behind that, such as ` per root month`. */
export function measuredRule(unit: string): { readonly kind: MeasuredKind; readonly behind: string } | undefined {
  const [, stored = '', behind = ''] = /^(lb|psi)\b(.*)$/.exec(unit) ?? []
  return stored === '' ? undefined : { kind: stored === 'lb' ? 'weight' : 'pressure', behind }
}

/**
 * Every limit, tolerance, interval and confidence that a fleet sets for itself. The key is what is stored; the
 * rest is what the House Rules screen says about it.
 */
export const houseRuleDefinitions = spoken(
  {
    measures: {
      label: phraseLater('Measures in which weights, pressures and lengths are shown and typed'),
      unit: '',
      default: 0,
      min: 0,
      max: measureSystems.length - 1,
      source: phraseLater('A choice: the record and every judgment are the same whatever is shown'),
      choices: measureSystems,
      shownOnly: true,
    },
    drivers: {
      label: phraseLater('Names of drivers on screens and papers'),
      unit: '',
      default: 0,
      min: 0,
      max: 1,
      source: phraseLater('A choice: the record keeps the names, and a fleet folder takes them along'),
      choices: ['named', 'not named'],
      shownOnly: true,
    },
    maximumAgeDays: {
      label: phraseLater('Oldest calibration that still counts'),
      unit: 'days',
      default: 365,
      min: 1,
      max: 3650,
      source: phraseLater('Common practice: onboard scales are recalibrated yearly'),
    },
    dueNoticeDays: {
      label: phraseLater('Days before the due date at which a group is due soon'),
      unit: 'days',
      default: 30,
      min: 0,
      max: 365,
      source: phraseLater('Common practice: one month to plan a visit'),
    },
    tolerancePercent: {
      label: phraseLater('Largest 95 % uncertainty of a line at the limit'),
      unit: '% of the limit',
      default: 3,
      min: 0.1,
      max: 20,
      source: (weight) =>
        phrase('Common practice: about {weight} on a tandem of {weight2}', {
          weight: weight(1000),
          weight2: weight(34_000),
        }),
    },
    ticketRepeatabilityLb: {
      label: phraseLater('Repeatability of a ticket weight (fuel, people aboard, position)'),
      unit: 'lb',
      default: 40,
      min: 0,
      max: 1000,
      source: phraseLater('Common practice: fuel, people and place on the platform'),
    },
    levelingPsi: {
      label: phraseLater('Leveling repeatability until the fleet has its own'),
      unit: 'psi',
      default: 0.4,
      min: 0.01,
      max: 10,
      source: phraseLater('Common practice: two looks at one load on level ground'),
    },
    pressureResolutionPsi: {
      label: phraseLater('Resolution of a sensor whose own is not recorded'),
      unit: 'psi',
      default: 0.1,
      min: 0,
      max: 10,
      source: phraseLater('Common practice: the last digit that sensors report'),
    },
    scaleDivisionLb: {
      label: phraseLater('Division of a scale whose own is not recorded'),
      unit: 'lb',
      default: 20,
      min: 0.1,
      max: 1000,
      source: phraseLater('Common practice: what an ordinary vehicle scale reads to'),
    },
    scaleTolerancePercent: {
      label: phraseLater('Tolerance of a scale whose own is not recorded'),
      unit: '%',
      default: 0.2,
      min: 0,
      max: 10,
      source: phraseLater('Common practice: what a certified vehicle scale in use may be off near full load'),
    },
    shortSpanPercent: {
      label: phraseLater('Smallest spread of calibration weights'),
      unit: '% of the limit',
      default: 35,
      min: 0,
      max: 100,
      source: phraseLater('Common practice: weigh empty and near the limit'),
    },
    topLoadPercent: {
      label: phraseLater('Smallest heaviest calibration weight'),
      unit: '% of the limit',
      default: 60,
      min: 0,
      max: 100,
      source: phraseLater('Common practice: weigh empty and near the limit'),
    },
    disagreeConfidence: {
      label: phraseLater('Confidence at which the points of one line disagree'),
      unit: '%',
      default: 99.7,
      min: 90,
      max: 99.999,
      source: phraseLater('Three-sigma practice; at 95 % one good line in twenty would be suspected'),
    },
    verdictConfidencePercent: {
      label: phraseLater('Confidence at which a weight counts as under or over a limit'),
      unit: '%',
      default: 95,
      min: 60,
      max: 99.99,
      source: phraseLater('JCGM 106:2012, guarded acceptance and rejection; 95 % is common practice'),
    },
    singleAxleLimitLb: {
      label: phraseLater('Limit of a single axle whose own is not recorded'),
      unit: 'lb',
      default: 20_000,
      min: 1000,
      max: 100_000,
      source: phraseLater('23 U.S.C. 127(a)(2)'),
    },
    tandemLimitLb: {
      label: phraseLater('Limit of a tandem whose own is not recorded'),
      unit: 'lb',
      default: 34_000,
      min: 1000,
      max: 200_000,
      source: phraseLater('23 U.S.C. 127(a)(2)'),
    },
    grossLimitLb: {
      label: phraseLater('Gross limit of a combination whose own is not recorded'),
      unit: 'lb',
      default: 80_000,
      min: 1000,
      max: 1_000_000,
      source: phraseLater('23 U.S.C. 127(a)(2)'),
    },
    emptyTicketPercent: {
      label: phraseLater('Heaviest ticket that can be an empty one'),
      unit: '% of the gross limit',
      default: 50,
      min: 5,
      max: 95,
      source: (weight) =>
        phrase('Common practice: an empty tractor and trailer weigh {weight} to {weight2} of {weight3}', {
          weight: weight(30_000),
          weight2: weight(38_000),
          weight3: weight(80_000),
        }),
    },
    steerScatterLb: {
      label: phraseLater(
        'Scatter of steer weights at one drive weight until the fleet has its own (fuel, people, load)',
      ),
      unit: 'lb',
      default: 60,
      min: 1,
      max: 2000,
      source: phraseLater('Common practice; the tickets of the fleet replace it as they come in'),
    },
    batteryRiskPercent: {
      label: phraseLater('Largest risk of a cell dying on the road before it is swapped'),
      unit: '%',
      default: 10,
      min: 0.1,
      max: 90,
      source: phraseLater('Common practice: a rarely failing part is changed at its B10 life'),
    },
    batteryLifeDays: {
      label: phraseLater('Life of a CR2450 cell before the fleet has its own record (63 % are dead by then)'),
      unit: 'days',
      default: 730,
      min: 10,
      max: 10_000,
      source: phraseLater(
        'Common practice: two years for a radio sensor on a coin cell; other cells in proportion to their volume',
      ),
    },
    batteryIntervalS: {
      label: phraseLater('Reporting interval at which that life holds'),
      unit: 's',
      default: 300,
      min: 1,
      max: 604_800,
      source: phraseLater('Common practice'),
    },
    batteryShape: {
      label: phraseLater('Weibull shape of cell lives before the fleet has its own record'),
      unit: '',
      default: 3,
      min: 0.5,
      max: 20,
      source: phraseLater('Common practice: 2 to 4 for parts that wear out'),
    },
    batteryLifePriorDeaths: {
      label: phraseLater('Weight of the House Rules life against the record'),
      unit: 'deaths',
      default: 0.5,
      min: 0.01,
      max: 1000,
      source: phraseLater('A choice: half a death, so that the first few of the fleet overrule it'),
    },
    batteryShapePriorDeaths: {
      label: phraseLater('Weight of the House Rules shape against the record'),
      unit: 'deaths',
      default: 10,
      min: 0.1,
      max: 1000,
      source: phraseLater('A choice: a shape from fewer than ten deaths is mostly chance'),
    },
    lowCellDeathPercent: {
      label: phraseLater('How far a cell swapped because it reported low counts as a death'),
      unit: '%',
      default: 50,
      min: 0,
      max: 100,
      source: phraseLater(
        'A choice: a cell that reports low is near its end. Where most swaps are low, 0 takes them for early ones and lets the risk at the swap grow to 48 %; 50 keeps it at 8 to 14 %',
      ),
    },
    visitIntervalDays: {
      label: phraseLater('Days until the next visit of a unit without a planned one'),
      unit: 'days',
      default: 90,
      min: 1,
      max: 1000,
      source: phraseLater('Common practice: quarterly preventive maintenance'),
    },
    gatherWindowDays: {
      label: phraseLater('Work due within so many days after a visit is done at that visit'),
      unit: 'days',
      default: 30,
      min: 0,
      max: 365,
      source: phraseLater('Common practice: a second visit costs more than a month of a cell'),
    },
    benchHorizonDays: {
      label: phraseLater('Days ahead that the Shop Bench plans'),
      unit: 'days',
      default: 28,
      min: 1,
      max: 365,
      source: phraseLater('Common practice: this week and the next three'),
    },
    benchMinutesPerDay: {
      label: phraseLater('Bench time of one yard a working day'),
      unit: 'min',
      default: 480,
      min: 1,
      max: 100_000,
      source: phraseLater('Common practice: one person, one eight-hour shift'),
    },
    benchDaysPerWeek: {
      label: phraseLater('Working days a week, from Monday'),
      unit: 'days',
      default: 5,
      min: 1,
      max: 7,
      source: phraseLater('Common practice'),
    },
    cellMinutes: {
      label: phraseLater('Time to swap one cell'),
      unit: 'min',
      default: 15,
      min: 1,
      max: 1440,
      source: phraseLater('Common practice'),
    },
    recalibrationMinutes: {
      label: phraseLater('Time to recalibrate one axle group'),
      unit: 'min',
      default: 45,
      min: 1,
      max: 1440,
      source: phraseLater('Common practice: two weighings, shared with the other groups of the unit'),
    },
    repairMinutes: {
      label: phraseLater('Time to check one finding with a wrench'),
      unit: 'min',
      default: 60,
      min: 1,
      max: 1440,
      source: phraseLater('Common practice'),
    },
    cellDollars: {
      label: phraseLater('Price of a cell whose own is not typed under Cells to order'),
      unit: '$',
      default: 3,
      min: 0,
      max: 10_000,
      source: phraseLater('Common practice: a coin cell bought by the tray'),
    },
    benchHourDollars: {
      label: phraseLater('Cost of an hour at the bench'),
      unit: '$',
      default: 80,
      min: 0,
      max: 10_000,
      source: phraseLater('A choice: wages with what a shop adds to them'),
    },
    deadCellDollars: {
      label: phraseLater('Cost of a cell that dies on the road, beside its swap'),
      unit: '$',
      default: 150,
      min: 0,
      max: 1_000_000,
      source: phraseLater('A choice: a load without a weight and a visit nobody planned'),
    },
    wanderPsi: {
      label: phraseLater('Wander of a line until the fleet has its own'),
      unit: 'psi per root month',
      default: 0.06,
      min: 0.001,
      max: 5,
      source: phraseLater('Common practice: a healthy circuit moves less in a year than between two looks at one load'),
    },
    missConfidence: {
      label: phraseLater('Band within which a single check weighing is never said to miss'),
      unit: '%',
      default: 99.7,
      min: 90,
      max: 99.9999,
      source: phraseLater('Three-sigma practice of control charts'),
    },
    cusumSlack: {
      label: phraseLater('Slack of the sums of misses that the check chart draws'),
      unit: 'standard deviations',
      default: 0.5,
      min: 0.1,
      max: 2,
      source: phraseLater('NIST/SEMATECH e-Handbook 6.3.2.3: half the shift to be found, here one standard deviation'),
    },
    cusumLimit: {
      label: phraseLater('Limit drawn beside the sums of misses'),
      unit: 'standard deviations',
      default: 8,
      min: 2,
      max: 30,
      source: phraseLater('A false alarm in about 9,600 checks (Siegmund)'),
      shownOnly: true,
    },
    movedConfidence: {
      label: phraseLater('Confidence at which a recalibration says that the line moved'),
      unit: '%',
      default: 99.9,
      min: 90,
      max: 99.9999,
      source: phraseLater('One false word in a thousand recalibrations'),
    },
    sideImbalancePercent: {
      label: phraseLater('Largest difference between left and right'),
      unit: '% of the mean pressure',
      default: 10,
      min: 1,
      max: 100,
      source: phraseLater('Common practice'),
    },
    sideImbalancePsi: {
      label: phraseLater('Difference between left and right that never matters'),
      unit: 'psi',
      default: 4,
      min: 0.1,
      max: 50,
      source: phraseLater('Common practice: two sensors within their accuracy'),
    },
    familyDistance: {
      label: phraseLater('Distance from its family at which a line stands out'),
      unit: 'robust standard deviations',
      default: 5,
      min: 2,
      max: 20,
      source: phraseLater('Common practice for robust outlier tests'),
    },
    slopeRatioLow: {
      label: phraseLater('Smallest slope against air springs times area'),
      unit: 'times',
      default: 0.4,
      min: 0.01,
      max: 1,
      source: phraseLater('Statics: levers between spring and axle seldom halve the load'),
    },
    slopeRatioHigh: {
      label: phraseLater('Largest slope against air springs times area'),
      unit: 'times',
      default: 2.5,
      min: 1,
      max: 100,
      source: phraseLater('Statics: levers between spring and axle seldom double the load'),
    },
    scaleBiasTolerances: {
      label: phraseLater('Bias from which a scale is called biased, in its own tolerance'),
      unit: 'times',
      default: 2,
      min: 0.5,
      max: 20,
      source: phraseLater('Common practice: twice the tolerance is beyond what a good scale shows'),
    },
    offsetsPerYear: {
      label: phraseLater('Unrecorded offsets of a line until the fleet has its own'),
      unit: 'a group and year',
      default: 0.06,
      min: 0.0001,
      max: 10,
      source: phraseLater('A choice: one group in sixteen a year'),
    },
    slopesPerYear: {
      label: phraseLater('Unrecorded changes of slope until the fleet has its own'),
      unit: 'a group and year',
      default: 0.06,
      min: 0.0001,
      max: 10,
      source: phraseLater('A choice: as often as offsets'),
    },
    driftsPerYear: {
      label: phraseLater('Drifts that begin until the fleet has its own'),
      unit: 'a group and year',
      default: 0.03,
      min: 0.0001,
      max: 10,
      source: phraseLater('A choice: half as often as offsets'),
    },
    offsetPsi: {
      label: phraseLater('Usual size of an offset'),
      unit: 'psi',
      default: 2.5,
      min: 0.1,
      max: 50,
      source: phraseLater(
        'Common practice: about twice the accuracy of an ordinary sensor; a pinched line is off by more',
      ),
    },
    slopeShare: {
      label: phraseLater('Usual size of a change of slope'),
      unit: 'share',
      default: 0.08,
      min: 0.005,
      max: 1,
      source: phraseLater(
        'Common practice: an inch of ride height or another air spring changes the slope by 5 to 10 %',
      ),
    },
    driftPsiPerMonth: {
      label: phraseLater('Usual rate of a drift'),
      unit: 'psi a month',
      default: 0.5,
      min: 0.01,
      max: 10,
      source: phraseLater('A choice: slow enough to be missed, fast enough to matter in a quarter'),
    },
    wildShare: {
      label: phraseLater('Weighings that belong to no line (another truck, a wrong row)'),
      unit: 'share',
      default: 0.004,
      min: 0.00001,
      max: 0.2,
      source: phraseLater('A choice: one weighing in 250'),
    },
    wildPsi: {
      label: phraseLater('How far such weighings lie off'),
      unit: 'psi',
      default: 10,
      min: 1,
      max: 100,
      source: phraseLater('A choice: any load between empty and full'),
    },
    tailShare: {
      label: phraseLater('Settlings that are wild (air still building, a sticking valve) until the fleet has its own'),
      unit: 'share',
      default: 0.02,
      min: 0.0001,
      max: 0.3,
      source: phraseLater('A choice: one settling in fifty'),
    },
    tailScale: {
      label: phraseLater('How many times the ordinary spread such settlings have'),
      unit: '',
      default: 3.5,
      min: 1.5,
      max: 20,
      source: phraseLater('A choice'),
    },
    endsCorrelation: {
      label: phraseLater('How far both ends of a line wander together'),
      unit: '',
      default: 0.8,
      min: 0,
      max: 0.99,
      source: phraseLater('A choice: most causes (a sensor’s offset, a ride height) move both ends'),
    },
  } as const satisfies Record<string, RuleDefinition>,
  ['label', 'source'],
)

export type HouseRuleName = keyof typeof houseRuleDefinitions
export type HouseRules = Readonly<Record<HouseRuleName, number>> & {
  /** Name in the IANA time zone database of the zone in which the fleet counts its days, such as America/Denver. */
  readonly zone: string
}

/** Whether screens and papers name who drove. */
export const namesDrivers = ({ drivers }: Pick<HouseRules, 'drivers'>): boolean => drivers === 0

/** What the House Rules screen and the log call the zone. */
export const zoneLabel = (): string => phrase('Time zone in which the fleet counts its days')

export const houseRuleNames = Object.keys(houseRuleDefinitions) as HouseRuleName[]

/** The rules of a fleet that has set none; a fleet file always has a zone of its own, see `core/store/clock.ts`. */
export const defaultHouseRules: HouseRules = {
  ...(Object.fromEntries(houseRuleNames.map((name) => [name, houseRuleDefinitions[name].default])) as Record<
    HouseRuleName,
    number
  >),
  zone: 'UTC',
}
