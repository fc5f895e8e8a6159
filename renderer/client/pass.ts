import { passName } from '#core/contracts/pass.ts'

/**
 * What a call to the loopback window carries: the pass that the one-time address left under this origin. Without one
 * the answer says how to get in.
 */
export const passHeaders = (): Record<string, string> => ({
  [passName]: localStorage.getItem(passName) ?? '',
})
