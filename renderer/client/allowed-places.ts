import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'
import { notAllowed } from '#core/contracts/places.ts'

type Asker = (folder: string) => Promise<boolean>
let asker: Asker | null = null

/**
 * The frame asks whether a folder may be used: `ask` shows its dialog, and tells whether the folder has been allowed.
 * Returns how to stop.
 */
export function answerForPlaces(ask: Asker): () => void {
  asker = ask
  return () => {
    if (asker === ask) asker = null
  }
}

/** The folder that would have to be allowed for what was refused; undefined where it was refused for another reason. */
function folderToAllow(error: unknown): string | undefined {
  if (!(error instanceof ORPCError) || error.code !== 'REFUSED') return undefined
  const { code, value } = error.data as { readonly code?: unknown; readonly value?: unknown }
  return code === notAllowed && typeof value === 'string' ? value : undefined
}

/**
 * A way to the procedures that asks once where a typed path lies outside the folders that windows may use, and goes on
 * when its folder has been allowed. No screen has to know of it.
 */
export const askingToAllow = (link: ClientLink<ClientContext>): ClientLink<ClientContext> => ({
  call: async (path, input, options) => {
    try {
      return await link.call(path, input, options)
    } catch (error) {
      const folder = folderToAllow(error)
      if (folder === undefined || asker === null || !(await asker(folder))) throw error
      return await link.call(path, input, options)
    }
  },
})
