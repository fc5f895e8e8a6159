import type { Plugin } from 'vite'

/**
 * A package that certificates and passkeys are read with looks for another as it is loaded, which the program has to
 * load first. Where bundles are cut into parts, that order is lost; so it is written into the package that looks.
 */
export const withReflection = (): Plugin => ({
  name: 'with-reflection',
  applyToEnvironment: ({ name }) => name === 'main',
  transform: (code, id) =>
    /[\\/]tsyringe[\\/]dist[\\/][^\\/]+[\\/]index\.js$/.test(id)
      ? { code: `import 'reflect-metadata'\n${code}`, map: null }
      : null,
})
