import { z } from 'zod'
import { base, instant } from '#core/contracts/base.ts'
import { typedPath } from '#core/contracts/within.ts'

const text = z.string()

/** The code of the refusal of a path outside, which a window answers with the question whether to allow its folder. */
export const notAllowed = 'place-not-allowed'

/**
 * A folder that windows may use, with all below it. always: the program's own, the demo's, and those of the fleet files
 * that were named at the start or are open.
 */
const allowedFolder = z.object({
  folder: text,
  why: z.enum(['always', 'picked', 'typed']),
  /** null: since the start. */
  allowedAt: instant.nullable(),
})
export type AllowedFolder = z.infer<typeof allowedFolder>

const typedFolder = z.object({ folder: typedPath })

/** Which folders of this computer a window may name by a typed path. */
export const placesContract = {
  /** byPicking: folders are picked in the system's own window, and typing one allows nothing. */
  list: base.output(z.object({ folders: z.array(allowedFolder), byPicking: z.boolean() })),
  /** Allows a folder that a person typed and confirmed. */
  allow: base.input(typedFolder).output(allowedFolder),
  /** Has the person pick a folder in the system's own window, and allows it; null: none was picked. */
  pick: base.input(z.object({ startAt: typedPath.nullable() })).output(allowedFolder.nullable()),
  takeBack: base.input(typedFolder).output(z.object({ takenBack: z.literal(true) })),
}
