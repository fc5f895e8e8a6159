import { phrase } from '#core/words/phrase.ts'
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
  facts: base.output(
    z.object({
      house: houseFacts.nullable(),
      file: z.string(),
      /** Whether this window can begin and end that. */
      canShare: z.boolean(),
    }),
  ),
  /** Serves the open file to other desks, for as long as the app runs. Errors: REFUSED `port`, `usage`, `shared`. */
  share: base
    .input(
      z.object({
        /** Of this machine on the network; null: its own. */
        name: z.string().trim().min(1).max(253).nullable(),
        port: z
          .number()
          .int()
          .min(1, { error: () => phrase('A port from 1 to 65535 is accepted') })
          .max(65_535),
      }),
    )
    .output(z.object({ shared: z.literal(true) })),
  unshare: base.output(z.object({ shared: z.literal(false) })),
}
