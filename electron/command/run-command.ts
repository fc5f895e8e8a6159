import { type ParseArgsConfig, parseArgs } from 'node:util'
import { faultDuringWork } from '#core/store/sqlite-fault.ts'
import { TarelineError } from '#core/words/problem.ts'
import {
  type Answer,
  type Command,
  type CommandInput,
  Parts,
  type Terminal,
  UsageError,
} from '#electron/command/command.ts'

/** A command by name; what it needs is loaded only when it runs, so that each starts as quickly as it can. */
export interface CommandEntry {
  readonly name: string
  readonly load: () => Promise<Command>
}

/** Every command, in the order of the help. */
export const commands: readonly CommandEntry[] = [
  { name: 'import', load: async () => (await import('#electron/command/files.ts')).importCommand },
  { name: 'export', load: async () => (await import('#electron/command/files.ts')).exportCommand },
  { name: 'trust', load: async () => (await import('#electron/command/standings.ts')).trustCommand },
  { name: 'findings', load: async () => (await import('#electron/command/standings.ts')).findingsCommand },
  { name: 'scales', load: async () => (await import('#electron/command/scales.ts')).scalesCommand },
  { name: 'weigh', load: async () => (await import('#electron/command/weigh.ts')).weighCommand },
  { name: 'heavy', load: async () => (await import('#electron/command/heavy.ts')).heavyCommand },
  { name: 'look-back', load: async () => (await import('#electron/command/look-back.ts')).lookBackCommand },
  { name: 'bridge', load: async () => (await import('#electron/command/bridge.ts')).bridgeCommand },
  { name: 'batteries', load: async () => (await import('#electron/command/bench.ts')).batteriesCommand },
  { name: 'bench-plan', load: async () => (await import('#electron/command/bench.ts')).benchPlanCommand },
  { name: 'fit', load: async () => (await import('#electron/command/fit.ts')).fitCommand },
  { name: 'publish', load: async () => (await import('#electron/command/publish.ts')).publishCommand },
  { name: 'backup', load: async () => (await import('#electron/command/files.ts')).backupCommand },
  { name: 'house', load: async () => (await import('#electron/command/house.ts')).houseCommand },
  { name: 'check', load: async () => (await import('#electron/command/files.ts')).checkCommand },
  { name: 'people', load: async () => (await import('#electron/command/people.ts')).peopleCommand },
]

const program = 'npm run -s tareline --'

const usageOf = ({ name, arguments: names, options }: Command): string => {
  const needed = Object.entries(options).map(([option, { type, value = 'VALUE', required }]) => {
    const text = type === 'boolean' ? `--${option}` : `--${option} ${value}`
    return required === true ? text : `[${text}]`
  })
  return [name, ...names, ...needed, '[--json]'].join(' ')
}

/** The help of the whole command line. */
function generalHelp(commands: readonly Command[]): string {
  const width = Math.max(...commands.map(({ name }) => name.length))
  return [
    `Usage: ${program} COMMAND ...`,
    '',
    ...commands.map(({ name, summary }) => `  ${name.padEnd(width)}  ${summary}`),
    '',
    `  --json  prints one JSON document to standard output; messages go to standard error`,
    `  --help  after a command: what it takes`,
    '',
    'Exit code: 0 done, 1 findings where --fail-on asks for it, 2 bad input or usage.',
  ].join('\n')
}

function commandHelp(command: Command): string {
  const options = [
    ...Object.entries(command.options).map(([name, { value, about }]): [string, string] => [
      `--${name}${value === undefined ? '' : ` ${value}`}`,
      about,
    ]),
    ['--json', 'print one JSON document'] as [string, string],
    ['--help', 'print this'] as [string, string],
  ]
  const width = Math.max(...options.map(([option]) => option.length))
  return [
    `Usage: ${program} ${usageOf(command)}`,
    '',
    command.summary,
    '',
    ...options.map(([option, about]) => `  ${option.padEnd(width)}  ${about}`),
  ].join('\n')
}

export interface Streams {
  /** What it returns, if anything, is to be waited for before more is written: the reader is slower. */
  readonly out: (text: string | Uint8Array) => void | Promise<void>
  /** Whether nobody reads standard output any more. */
  readonly isLeft?: () => boolean
  readonly error: (text: string) => void
  readonly terminal: Terminal
}

/** Something went wrong that nobody at the command line can put right: EX_SOFTWARE of the BSD exit codes. */
const ourFault = 70

/** `--at -5` is a value that starts with a dash, not another option. */
const joinNegatives = (args: readonly string[]): string[] => {
  const joined: string[] = []
  for (let index = 0; index < args.length; index += 1) {
    const [arg = '', next] = [args[index], args[index + 1]]
    if (/^--[a-z-]+$/.test(arg) && next !== undefined && /^-\.?\d/.test(next)) {
      joined.push(`${arg}=${next}`)
      index += 1
    } else joined.push(arg)
  }
  return joined
}

function readInput(command: Command, args: readonly string[]): CommandInput {
  const options: NonNullable<ParseArgsConfig['options']> = { json: { type: 'boolean' }, help: { type: 'boolean' } }
  for (const [name, { type }] of Object.entries(command.options)) options[name] = { type }
  let parsed: ReturnType<typeof parseArgs>
  try {
    parsed = parseArgs({ args: joinNegatives(args), options, allowPositionals: true, strict: true })
  } catch (error) {
    throw new UsageError(`${error instanceof Error ? error.message.split('. ')[0] : String(error)}.`)
  }
  const { values, positionals } = parsed
  const textOr = (option: string) => {
    const value = values[option]
    return typeof value === 'string' ? value : undefined
  }
  const input: CommandInput = {
    argument: (index) => positionals[index] ?? '',
    textOr,
    text: (option) => {
      const value = textOr(option)
      if (value === undefined || value === '')
        throw new UsageError(`--${option} is missing: ${command.options[option]?.about ?? 'a value'} is needed.`)
      return value
    },
    numberOr: (option) => {
      const text = textOr(option)
      if (text === undefined) return undefined
      const value = text.trim() === '' ? Number.NaN : Number(text)
      if (!Number.isFinite(value)) throw new UsageError(`--${option} is "${text}"; a number is needed.`)
      return value
    },
    flag: (option) => values[option] === true,
  }
  if (input.flag('help')) return input
  const names = command.arguments
  const needed = names.filter((name) => !name.startsWith('[')).length
  if (positionals.length < needed) throw new UsageError(`${names[positionals.length]} is missing.`)
  if (positionals.length > names.length)
    throw new UsageError(`"${positionals[names.length]}" is one argument too many.`)
  for (const [name, { required }] of Object.entries(command.options)) if (required === true) input.text(name)
  return input
}

/** A text without the password of an address in it, such as one that somebody typed in the wrong place. */
const withoutPasswords = (text: string): string => text.replaceAll(/([a-z]+:\/\/[^\s:/@"]*):[^\s"]*@/gi, '$1@')

const asJson = (document: unknown) => `${JSON.stringify(document, null, 2)}\n`

async function printAnswer(
  { document, text, messages = [], exit = 0 }: Answer,
  json: boolean,
  { out, error, isLeft, terminal }: Streams,
): Promise<number> {
  for (const message of messages) error(`${message}\n`)
  const chosen = json ? document : text
  if (chosen instanceof Parts) {
    for await (const part of chosen.make()) {
      if (isLeft?.() === true) break
      terminal.signal.throwIfAborted()
      await out(part)
    }
  } else if (json) await out(asJson(document))
  else if (text !== '') await out(`${text}\n`)
  return exit
}

/** Runs one command line; answers with the exit code. Standard output carries the answer and nothing else. */
export async function runCommandLine(
  commands: readonly CommandEntry[],
  args: readonly string[],
  streams: Streams,
): Promise<number> {
  const { out, error: say, terminal } = streams
  const [name, ...rest] = args
  const json = rest.includes('--json')
  const fail = async (code: string, text: string, exit: number): Promise<number> => {
    const message = withoutPasswords(text)
    say(`${message}\n`)
    if (json) await out(asJson({ error: { code, message } }))
    return exit
  }
  if (name === undefined || name === '--help' || name === 'help') {
    const text = `${generalHelp(await Promise.all(commands.map(({ load }) => load())))}\n`
    if (name === undefined) say(text)
    else await out(text)
    return name === undefined ? 2 : 0
  }
  const entry = commands.find((each) => each.name === name)
  if (!entry)
    return await fail(
      'usage',
      `There is no command "${name}". Known are ${commands.map((each) => each.name).join(', ')}; --help says more.`,
      2,
    )
  const command = await entry.load()
  try {
    const input = readInput(command, rest)
    if (input.flag('help')) {
      await out(`${commandHelp(command)}\n`)
      return 0
    }
    return await printAnswer(await command.run(input, terminal), json, streams)
  } catch (error) {
    terminal.progress(undefined)
    if (error instanceof UsageError)
      return await fail('usage', `${error.message}\n\n${commandHelp(command).split('\n')[0]}`, 2)
    if (error instanceof TarelineError) return await fail(error.code, error.message, 2)
    const fault = faultDuringWork(error)
    if (fault) return await fail(fault.code, fault.message, 2)
    if (terminal.signal.aborted) return await fail('cancelled', 'Cancelled; nothing was stored.', 2)
    return await fail(
      'internal',
      `Tareline failed unexpectedly: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`,
      ourFault,
    )
  } finally {
    terminal.progress(undefined)
  }
}
