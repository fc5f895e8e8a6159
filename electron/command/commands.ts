import type { Command } from '#electron/command/command.ts'

/** A command by name; what it needs is loaded only when it runs, so that each starts as quickly as it can. */
export interface CommandEntry {
  readonly name: string
  readonly load: () => Promise<Command>
}

/** Every command, in the order of the help. */
export const commands: readonly CommandEntry[] = [
  { name: 'import', load: async () => (await import('#electron/command/import.ts')).importCommand },
  { name: 'export', load: async () => (await import('#electron/command/export.ts')).exportCommand },
  { name: 'trust', load: async () => (await import('#electron/command/trust.ts')).trustCommand },
  { name: 'findings', load: async () => (await import('#electron/command/findings.ts')).findingsCommand },
  { name: 'weigh', load: async () => (await import('#electron/command/weigh.ts')).weighCommand },
  { name: 'heavy', load: async () => (await import('#electron/command/heavy.ts')).heavyCommand },
  { name: 'bridge', load: async () => (await import('#electron/command/bridge.ts')).bridgeCommand },
  { name: 'batteries', load: async () => (await import('#electron/command/batteries.ts')).batteriesCommand },
  { name: 'bench-plan', load: async () => (await import('#electron/command/bench-plan.ts')).benchPlanCommand },
  { name: 'fit', load: async () => (await import('#electron/command/fit.ts')).fitCommand },
  { name: 'backup', load: async () => (await import('#electron/command/backup.ts')).backupCommand },
  { name: 'check', load: async () => (await import('#electron/command/check.ts')).checkCommand },
]
