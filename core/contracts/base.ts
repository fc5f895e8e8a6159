import { phrase } from '#core/words/phrase.ts'
import { oc } from '@orpc/contract'
import { z } from 'zod'
import type { OfferedFix } from '#core/findings/offered-fix.ts'
import { trustStates } from '#core/findings/finding.ts'
import { parseDay, parseMonth } from '#core/words/day.ts'
import { tidyName } from '#core/words/names.ts'
import { parseInstant } from '#core/words/instant.ts'

const dayAccepted = () => phrase('A day such as 2026-03-01 is accepted')

/** What a person did wrong, as a typed error that every procedure may answer with. */
export const base = oc.errors({
  REFUSED: {
    status: 422,
    data: z.object({ code: z.string(), field: z.string(), value: z.string(), accepted: z.string() }),
  },
})

const storedValue = z.union([z.string(), z.number(), z.null()])
/** A field as the person saw it, as it is stored by now, and as typed; columns and units as stored. */
export const fieldConflict = z.object({ field: z.string(), was: storedValue, stored: storedValue, typed: storedValue })
export type FieldConflictView = z.infer<typeof fieldConflict>

export const trust = z.enum(trustStates)
export const day = z.string()
export const instant = z.string()

const instantAccepted = () => phrase('A date and time with its offset is accepted')

/** A time as a person types it. */
export const typedInstant = z
  .string()
  .max(40, { error: instantAccepted })
  .refine((text) => parseInstant(text) !== undefined, { error: instantAccepted })

/** A text as a person types it, of at most so many characters, that a reader takes; else with what is accepted. */
const typedAs = <T>(read: (text: string) => T | undefined, most: number, accepted: () => string) =>
  z
    .string()
    .max(most, { error: accepted })
    .transform((text, context): T => {
      const found = read(text)
      if (found !== undefined) return found
      context.addIssue({ code: 'custom', message: accepted() })
      return z.NEVER
    })

export const typedDay = typedAs(parseDay, 10, dayAccepted)
export const typedMonth = typedAs(parseMonth, 7, () => phrase('A month such as 2026-03 is accepted'))

/**
 * For procedures that change what people type: another window may have changed the same fields meanwhile; then nothing
 * is stored.
 */
export const editing = base.errors({ CONFLICT: { status: 409, data: z.object({ fields: z.array(fieldConflict) }) } })

export const dismissed = z.object({ at: instant, by: z.string(), message: z.string(), reason: z.string() })
export type DismissedView = z.infer<typeof dismissed>

/** What something is called, to be found by it. */
export const name = z.string().min(1).max(200)
/** The same as a person types it. */
export const typedName = z.string().trim().min(1).max(200)
/** A new name that is a key, such as a ticket's number: what cannot be seen in it is not kept. */
export const newName = typedName
  .transform(tidyName)
  .pipe(z.string().min(1, { error: () => phrase('A name with signs that can be seen is accepted') }))
export const person = typedName

/** What a finding offers to put right: `offeredFix` of core/findings. */
export const offeredFix = z.custom<OfferedFix>((value) => typeof value === 'object' && value !== null)
