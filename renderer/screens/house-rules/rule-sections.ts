import type { RuleRow } from '#core/contracts/scales.ts'
import type { HouseRuleName } from '#core/words/house-rules.ts'
import { phrase } from '#core/words/phrase.ts'

interface Section {
  readonly title: string
  readonly names: readonly HouseRuleName[]
}

/** The order in which people look for the rules; what is in no section comes last, under its own heading. */
const sections: readonly Section[] = [
  { title: phrase('What the screens show'), names: ['measures', 'drivers'] },
  {
    title: phrase('How long a calibration counts'),
    names: ['maximumAgeDays', 'dueNoticeDays', 'tolerancePercent', 'wanderPsi', 'levelingPsi'],
  },
  {
    title: phrase('What a good calibration needs'),
    names: [
      'shortSpanPercent',
      'topLoadPercent',
      'disagreeConfidence',
      'slopeRatioLow',
      'slopeRatioHigh',
      'familyDistance',
    ],
  },
  {
    title: phrase('When evidence speaks against a line'),
    names: [
      'missConfidence',
      'cusumSlack',
      'cusumLimit',
      'movedConfidence',
      'sideImbalancePercent',
      'sideImbalancePsi',
    ],
  },
  {
    title: phrase('Tickets, scales and sensors'),
    names: [
      'ticketRepeatabilityLb',
      'scaleDivisionLb',
      'scaleTolerancePercent',
      'scaleBiasTolerances',
      'pressureResolutionPsi',
    ],
  },
  {
    title: phrase('Weights and limits'),
    names: [
      'verdictConfidencePercent',
      'singleAxleLimitLb',
      'tandemLimitLb',
      'grossLimitLb',
      'emptyTicketPercent',
      'steerScatterLb',
    ],
  },
  {
    title: phrase('Batteries'),
    names: [
      'batteryRiskPercent',
      'batteryLifeDays',
      'batteryIntervalS',
      'batteryShape',
      'batteryLifePriorDeaths',
      'batteryShapePriorDeaths',
      'lowCellDeathPercent',
    ],
  },
  {
    title: phrase('Shop Bench'),
    names: [
      'visitIntervalDays',
      'gatherWindowDays',
      'benchHorizonDays',
      'benchMinutesPerDay',
      'benchDaysPerWeek',
      'cellMinutes',
      'recalibrationMinutes',
      'repairMinutes',
    ],
  },
  { title: phrase('What cells cost'), names: ['cellDollars', 'benchHourDollars', 'deadCellDollars'] },
]

export interface RuleSection {
  readonly title: string
  readonly rules: readonly RuleRow[]
}

/** The rules under their headings, without the headings that have none. */
export function rulesBySection(rules: readonly RuleRow[]): RuleSection[] {
  const placed = new Set<string>(sections.flatMap(({ names }) => names))
  const others = { title: phrase('Other rules'), rules: rules.filter(({ name }) => !placed.has(name)) }
  return [
    ...sections.map(({ title, names }) => ({
      title,
      rules: names.flatMap((name) => rules.find((rule) => rule.name === name) ?? []),
    })),
    others,
  ].filter((section) => section.rules.length > 0)
}

/** The rules that contain every word typed, in what they are called, their unit or their source. */
export function findRules(rules: readonly RuleRow[], typed: string): RuleRow[] {
  const words = typed.toLowerCase().split(/\s+/).filter(Boolean)
  return rules.filter(({ label, unit, source }) =>
    words.every((word) => `${label} ${unit} ${source}`.toLowerCase().includes(word)),
  )
}
