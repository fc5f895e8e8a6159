import type { Command } from '#electron/command/command.ts'

const program = 'npm run -s tareline --'

const usageOf = ({ name, arguments: names, options }: Command): string => {
  const needed = Object.entries(options).map(([option, { type, value = 'VALUE', required }]) => {
    const text = type === 'boolean' ? `--${option}` : `--${option} ${value}`
    return required === true ? text : `[${text}]`
  })
  return [name, ...names, ...needed, '[--json]'].join(' ')
}

/** The help of the whole command line. */
export function generalHelp(commands: readonly Command[]): string {
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

export function commandHelp(command: Command): string {
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
