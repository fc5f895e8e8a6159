import { inWords } from '#electron/launch/in-words.ts'
import { type Start, startLoopback } from '#electron/launch/loopback-window.ts'

/** As it starts out of its bundle, which has its own kinds of errors: they are told here. */
export const runLoopback = (start: Start): Promise<void> => inWords(() => startLoopback(start))
