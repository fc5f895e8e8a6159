import { resolve } from 'node:path'
import { createBuilder } from 'vite'

const root = resolve(import.meta.dirname, '../..')

/** The bundle of the program that `.config/program.config.ts` describes, and its entries. */
export const program = {
  start: resolve(root, '.cache/program/start.js'),
  tareline: resolve(root, '.cache/program/tareline.js'),
}

/** Makes it of the sources as they are now. */
export async function bundleProgram(): Promise<void> {
  const configFile = resolve(root, '.config/program.config.ts')
  await (await createBuilder({ configFile, logLevel: 'warn' }, null)).buildApp()
}
