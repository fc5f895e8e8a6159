/** The fleet file that a system hands over when a person opens one: the last argument that names one. */
export const fileAmong = (args: readonly string[]): string | undefined =>
  args.findLast((arg) => !arg.startsWith('-') && /\.tareline$/i.test(arg))

/**
 * Whether the app was started to run a command and not to open its window: the first word is neither an option nor a
 * fleet file.
 */
export const isCommand = ([first]: readonly string[]): boolean =>
  first !== undefined && !first.startsWith('-') && fileAmong([first]) === undefined

const written = (stream: NodeJS.WriteStream) =>
  new Promise<void>((resolve) => {
    stream.write('', () => resolve())
  })

/**
 * Runs the command line inside the packaged app, which cannot act as plain Node; returns the exit code once all is
 * written.
 */
export async function runCommand(args: readonly string[]): Promise<number> {
  // Loaded only here: the window needs none of it.
  const [{ commands }, { processStreams }, { runCommandLine }] = await Promise.all([
    import('#electron/command/run-command.ts'),
    import('#electron/command/command.ts'),
    import('#electron/command/run-command.ts'),
  ])
  const code = await runCommandLine(commands, args, processStreams())
  await Promise.all([written(process.stdout), written(process.stderr)])
  return code
}
