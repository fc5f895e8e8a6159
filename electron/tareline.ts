import { commands } from '#electron/command/commands.ts'
import { processStreams } from '#electron/command/process-streams.ts'
import { runCommandLine } from '#electron/command/run-command.ts'

process.exitCode = await runCommandLine(commands, process.argv.slice(2), processStreams())
