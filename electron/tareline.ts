import { processStreams } from '#electron/command/command.ts'
import { commands, runCommandLine } from '#electron/command/run-command.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'

keepFilesPrivate()
process.exitCode = await runCommandLine(commands, process.argv.slice(2), processStreams())
