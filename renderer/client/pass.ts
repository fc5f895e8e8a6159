import { passName } from '#core/contracts/pass.ts'

/** Over HTTPS a house serves this window, which knows it by a cookie and by no pass. */
export const isAtHouse = () => location.protocol === 'https:'

/**
 * What a call to the loopback window carries: the pass that the one-time address left under this origin. Without one
 * the answer says how to get in.
 */
export const passHeaders = (): Record<string, string> =>
  isAtHouse() ? {} : { [passName]: localStorage.getItem(passName) ?? '' }

/**
 * Whether cookies go with a call. To the loopback window none: a neighbor on another port can set so many that a call
 * would be too long to be read.
 */
export const callCredentials = (): RequestCredentials => (isAtHouse() ? 'same-origin' : 'omit')
