import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { base, dismissed, editing, instant, person, trust } from '#core/contracts/base.ts'
import { scaleVerdicts } from '#core/evidence/scales/scale-standing.ts'
import { findingCodes } from '#core/findings/finding.ts'
import { isZone } from '#core/words/day.ts'
import { houseRuleNames } from '#core/words/house-rules.ts'

const scaleRow = z.object({
  scale: z.string(),
  divisionLb: z.number().nullable(),
  tolerancePercent: z.number().nullable(),
  elevationFt: z.number().nullable(),
  tickets: z.number(),
  /** What it shows too much, with its standard uncertainty, %: what its certification alone says while not known. */
  biasPercent: z.number(),
  uPercent: z.number(),
  verdict: z.enum(scaleVerdicts),
  /** Scales that it cannot be told apart from. */
  tiedTo: z.array(z.string()),
  weighings: z.number(),
  groups: z.number(),
  since: instant.nullable(),
  /** The finding that names it biased, if one does. */
  finding: z.object({ id: z.number(), message: z.string(), nextStep: z.string() }).nullable(),
})
export type ScaleRow = z.infer<typeof scaleRow>

const fleetFigure = z.object({ value: z.number(), u: z.number().nullable(), checks: z.number() })

const ruleRow = z.object({
  name: z.enum(houseRuleNames),
  label: z.string(),
  unit: z.string(),
  value: z.number(),
  default: z.number(),
  min: z.number(),
  max: z.number(),
  source: z.string(),
  /** Of a rule that is chosen: the words of the values 0, 1 and on. */
  choices: z.array(z.string()).readonly().nullable(),
  /** It says only how things are shown. */
  shownOnly: z.boolean(),
})
export type RuleRow = z.infer<typeof ruleRow>

/** What a rule's change would do to the fleet as it stands: nothing is stored. */
const ruleEffect = z.object({
  /** Groups that are judged. */
  groups: z.number(),
  /** How many groups would go from one trust to another, the most first. */
  moves: z.array(z.object({ from: trust, to: trust, groups: z.number() })),
  /** Findings whose number would change. */
  findings: z.array(z.object({ code: z.enum(findingCodes), before: z.number(), after: z.number() })),
})
export type RuleEffect = z.infer<typeof ruleEffect>

const scaleList = z.object({
  asOf: instant,
  scales: z.array(scaleRow),
  /** The two scales on which weighing one loaded unit would tell most; % of their difference. */
  crossCheck: z
    .object({ scales: z.tuple([z.string(), z.string()]), uNowPercent: z.number(), uAfterPercent: z.number() })
    .nullable(),
  /** Findings about scales that were set aside, newest first. */
  setAside: z.array(dismissed),
  /**
   * Leveling repeatability, psi, and wander, psi per root month: the fleet's own, or the House Rules' (u null).
   */
  leveling: fleetFigure,
  wander: fleetFigure,
})
export type ScaleList = z.infer<typeof scaleList>

export const scalesContract = {
  list: base.output(scaleList),
  /** All of them as a spreadsheet. */
  export: base.output(z.file()),
}

export const houseRulesContract = {
  list: base.output(z.array(ruleRow)),
  /** Judges the fleet as if a rule had another value. */
  tryOut: base.input(z.object({ name: z.enum(houseRuleNames), value: z.number() })).output(ruleEffect),
  /** was: the value that the person saw. */
  change: editing
    .input(z.object({ name: z.enum(houseRuleNames), was: z.number(), value: z.number(), by: person }))
    .output(z.array(ruleRow)),
  /** The zone in which the fleet counts its days, and this machine's, which a new fleet file begins with. */
  zone: base.output(z.object({ zone: z.string(), machine: z.string() })),
  changeZone: editing
    .input(
      z.object({
        was: z.string().max(100),
        zone: z
          .string()
          .max(100)
          .refine(isZone, { error: () => phrase('The name of a time zone such as America/Denver is accepted') }),
        by: person,
      }),
    )
    .output(z.object({ zone: z.string() })),
}
