import { registerHooks } from 'node:module'

/** Gives a program that was made for Electron the stand-in of its API; everything else is loaded as ever. */
const standIn = new URL('../desktop/electron-stand-in.ts', import.meta.url).href
registerHooks({
  resolve: (specifier, context, next) =>
    specifier === 'electron/main' || specifier === 'electron/common'
      ? { url: standIn, shortCircuit: true }
      : next(specifier, context),
})
