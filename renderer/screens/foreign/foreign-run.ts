import type { ForeignOutcome } from '#core/contracts/foreign.ts'
import { importRun } from '#renderer/parts/import-progress.tsx'

/** The foreign file that is being imported, whatever screen is looked at meanwhile. */
export const foreignRun = importRun<ForeignOutcome>()
export const useForeignState = foreignRun.useState
