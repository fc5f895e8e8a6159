import type { Plugin } from 'vite'

/** Modules of the page's beginning and of its worker, with all that they import. */
const begun = new Set<string>()

/** Finds out what the page begins with, before its files are laid out. */
export function sharedParts(): Plugin {
  return {
    name: 'shared-parts',
    applyToEnvironment: ({ name }) => name === 'client',
    buildEnd() {
      const begin = (id: string) => {
        if (begun.has(id)) return
        begun.add(id)
        for (const imported of this.getModuleInfo(id)?.importedIds ?? []) begin(imported)
      }
      for (const id of this.getModuleIds()) if (this.getModuleInfo(id)?.isEntry === true) begin(id)
    },
  }
}

/**
 * What most screens share comes in one file: asking for a hundred small ones takes longer than reading them. What the
 * page begins with stays apart from it: words that are made as a file is read must wait for the language of the window.
 */
export const sharedGroup = {
  name: 'shared',
  minShareCount: 8,
  test: (id: string): boolean => !begun.has(id),
  // All that these import is shared as much, or begun with.
  includeDependenciesRecursively: false,
}
