import { backupCommand } from '#electron/command/backup.ts'
import { checkCommand } from '#electron/command/check.ts'
import type { Command } from '#electron/command/command.ts'
import { exportCommand } from '#electron/command/export.ts'
import { fitCommand } from '#electron/command/fit.ts'
import { importCommand } from '#electron/command/import.ts'

/** Every command, in the order of the help. */
export const commands: readonly Command[] = [
  importCommand,
  exportCommand,
  fitCommand,
  backupCommand,
  checkCommand,
]
