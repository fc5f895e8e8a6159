import type { ImportOutcome } from '#core/api/import-contract.ts'
import type { ForeignOutcome } from '#core/api/foreign-contract.ts'
import type { ExportOutcome } from '#core/exchange/export-folder.ts'
import type { ForeignFile } from '#core/exchange/import-foreign.ts'
import type { ImportOptions } from '#core/exchange/import-records.ts'
import { inThread } from '#core/exchange/in-thread.ts'
import type { RuleEffect } from '#core/findings/rule-effect.ts'
import type { HouseRuleName } from '#core/fleet/house-rules.ts'

export interface BringInOptions extends ImportOptions {
  /** Have the fleet assessed anew afterwards; the default. Without it the first look at the fleet does so. */
  readonly assess?: boolean
}

/**
 * Brings a fleet folder into a fleet file, made where there is none: all of it, or, when any row has a problem,
 * nothing. Runs in a thread with a connection of its own, then has the fleet assessed anew. A cancel leaves nothing of
 * the import.
 *
 * Errors: TarelineError `no-folder`, `locked` and those of `openStore`; the signal's reason after a cancel.
 */
export const bringInFolder = (
  dbFile: string,
  folder: string,
  { assess = true, ...options }: BringInOptions = {},
): Promise<ImportOutcome> => inThread<ImportOutcome>({ kind: 'bring in', dbFile, folder, assess }, options)

/**
 * Brings a foreign file in, likewise. Errors: TarelineError `no-file`, `too-large`, `too-many`, `locked` and those of
 * `openStore`; the signal's reason after a cancel.
 */
export const bringInForeign = (dbFile: string, file: ForeignFile, options: ImportOptions): Promise<ForeignOutcome> =>
  inThread<ForeignOutcome>({ kind: 'bring in foreign', dbFile, file }, options)

/**
 * Writes a fleet file out as a fleet folder, in a thread with a connection of its own. Errors: those of `exportFolder`
 * and `openStore`.
 */
export const writeOutFolder = (dbFile: string, folder: string): Promise<ExportOutcome> =>
  inThread<ExportOutcome>({ kind: 'write out', dbFile, folder }, {})

/**
 * Brings the stored weights up to the record, in a thread with a connection of its own. Errors: those of `openStore`.
 */
export const weighInThread = (dbFile: string): Promise<void> => inThread<void>({ kind: 'weigh', dbFile }, {})

/**
 * The cab cards of units at a time (ms UTC) as one PDF, made in a thread. Errors: TarelineError `no-such-unit`; those
 * of `openStore`.
 */
export const cabCardsInThread = (
  dbFile: string,
  units: readonly string[],
  at: number,
): Promise<Uint8Array<ArrayBuffer>> => inThread<Uint8Array<ArrayBuffer>>({ kind: 'cab cards', dbFile, units, at }, {})

/**
 * Judges the fleet on a day (ms UTC) and stores the outcome, in a thread with a connection of its own. Errors: those of
 * `openStore`.
 */
export const assessInThread = (dbFile: string, asOf: number): Promise<void> =>
  inThread<void>({ kind: 'assess', dbFile, asOf }, {})

/**
 * What a rule's change would do to the fleet on a day (ms UTC), judged in a thread without storing anything. Errors:
 * those of `openStore`; the signal's reason after a cancel.
 */
export const tryRuleInThread = (
  dbFile: string,
  rule: { readonly name: HouseRuleName; readonly value: number },
  asOf: number,
  signal: AbortSignal | undefined,
): Promise<RuleEffect> => inThread<RuleEffect>({ kind: 'try rule', dbFile, ...rule, asOf }, signal ? { signal } : {})
