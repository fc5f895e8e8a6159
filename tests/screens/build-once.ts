import { resolve } from 'node:path'
import { ensureBundles } from '#electron/launch/bundles.ts'

/** Builds the screens before the workers start, so that two of them never build at once. */
export default async function buildOnce(): Promise<void> {
  await ensureBundles(resolve(import.meta.dirname, '../..'), (line) => console.log(line))
}
