import { backupCommand } from '#electron/command/backup.ts'
import { batteriesCommand } from '#electron/command/batteries.ts'
import { benchPlanCommand } from '#electron/command/bench-plan.ts'
import { bridgeCommand } from '#electron/command/bridge.ts'
import { checkCommand } from '#electron/command/check.ts'
import type { Command } from '#electron/command/command.ts'
import { exportCommand } from '#electron/command/export.ts'
import { fitCommand } from '#electron/command/fit.ts'
import { findingsCommand } from '#electron/command/findings.ts'
import { heavyCommand } from '#electron/command/heavy.ts'
import { importCommand } from '#electron/command/import.ts'
import { trustCommand } from '#electron/command/trust.ts'
import { weighCommand } from '#electron/command/weigh.ts'

/** Every command, in the order of the help. */
export const commands: readonly Command[] = [
  importCommand,
  exportCommand,
  trustCommand,
  findingsCommand,
  weighCommand,
  heavyCommand,
  bridgeCommand,
  batteriesCommand,
  benchPlanCommand,
  fitCommand,
  backupCommand,
  checkCommand,
]
