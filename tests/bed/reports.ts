import { z } from 'zod'

/** What the command line prints with `--json`: the parts of `findings`, `trust` and `scales` that the score needs. */
export const findingRows = z.array(
  z.object({
    unit: z.string().nullable(),
    group: z.string().nullable(),
    circuit: z.string().nullable(),
    scale: z.string().nullable(),
    ticket: z.string().nullable(),
    code: z.string(),
    severity: z.enum(['stop', 'warn', 'note']),
    since: z.string().nullable(),
    numbers: z.record(z.string(), z.unknown()),
    message: z.string(),
  }),
)
export type FindingRow = z.infer<typeof findingRows>[number]

export const trustRows = z.array(
  z.object({
    unit: z.string(),
    group: z.string(),
    trust: z.enum(['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon', 'sound']),
    calibrated_at: z.string().nullable(),
    age_days: z.number().nullable(),
    due_on: z.string().nullable(),
    a: z.number().nullable(),
    b: z.number().nullable(),
    u_limit_lb: z.number().nullable(),
  }),
)
export type TrustRow = z.infer<typeof trustRows>[number]

export const scaleRows = z.array(
  z.object({
    scale: z.string(),
    bias_percent: z.number(),
    u_percent: z.number(),
    verdict: z.enum(['within tolerance', 'beyond tolerance', 'biased', 'too close to call', 'not known']),
    weighings: z.number(),
    groups: z.number(),
    since: z.string().nullable(),
  }),
)
export type ScaleRow = z.infer<typeof scaleRows>[number]

/** The parts of `weigh` that the score needs. */
export const weighedRow = z.object({
  reading: z.string(),
  taken_at: z.string(),
  groups: z.array(
    z.object({
      unit: z.string(),
      group: z.string(),
      source: z.string().optional(),
      weight_lb: z.number().nullable(),
      u_lb: z.number().nullable(),
      line_weight_lb: z.number().nullable(),
      u_line_lb: z.number().nullable(),
      limit_lb: z.number(),
      verdict: z.enum(['under', 'too close to call', 'over']).nullable(),
    }),
  ),
})
export const weighedRows = z.array(weighedRow)
export type WeighedRow = z.infer<typeof weighedRow>
