import { z } from 'zod'
import { base, instant } from '#core/contracts/base.ts'

/** How the desks of a fleet reach the machine that serves them, and how they can be sure that it is the one. */
const houseFacts = z.object({
  /** Where desks find it: the name first, then what else the machine is reached by. */
  addresses: z.array(z.string()),
  /** SHA-256 of the certificate, as browsers show it. */
  fingerprint: z.string(),
  /** When the certificate ends. */
  endsAt: instant,
  /** The authority that each desk is to trust; null where the fleet brought a certificate of its own. */
  authority: z.object({ fingerprint: z.string(), certificate: z.string() }).nullable(),
  /** What is wrong with the certificate just now, as a sentence; null: nothing. */
  trouble: z.string().nullable(),
})
export type HouseFacts = z.infer<typeof houseFacts>

export const houseContract = {
  /** null: this machine works alone; then the fleet file that would be shared, for the command that does. */
  facts: base.output(z.object({ house: houseFacts.nullable(), file: z.string() })),
}
