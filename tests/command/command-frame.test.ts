import { describe, expect, it } from 'vitest'
import { TarelineError } from '#core/words/problem.ts'
import type { Command } from '#electron/command/command.ts'
import { type CommandEntry, commands, runCommandLine } from '#electron/command/run-command.ts'
import { tareline } from '#tests/command/run-tareline.ts'

const entry = (command: Command): CommandEntry => ({ name: command.name, load: async () => command })

async function run(known: readonly CommandEntry[], ...args: string[]) {
  let out = ''
  let error = ''
  const exit = await runCommandLine(known, args, {
    out: (text) => {
      out += text
    },
    error: (text) => {
      error += text
    },
    terminal: { progress: () => undefined, signal: new AbortController().signal },
  })
  return { exit, out, error }
}

const echo: Command = {
  name: 'echo',
  summary: 'Say it again.',
  arguments: ['WORD'],
  options: {
    times: { type: 'string', value: 'N', about: 'how often', required: true },
    loud: { type: 'boolean', about: 'louder' },
  },
  run: async (input) => ({
    document: { word: input.argument(0), times: input.numberOr('times'), loud: input.flag('loud') },
    text: input.argument(0),
    messages: ['said'],
    exit: 1,
  }),
}
const failing = (error: unknown): Command => ({
  ...echo,
  name: 'fail',
  arguments: [],
  options: {},
  run: () => Promise.reject(error),
})

describe('the command line', () => {
  it('says what there is', async () => {
    const help = await tareline('--help')
    expect(help).toMatchObject({ exit: 0, error: '' })
    for (const { name, load } of commands) {
      const { summary, name: own } = await load()
      expect(own).toBe(name)
      expect(help.out).toMatch(new RegExp(`^  ${name} +${summary.slice(0, 20)}`, 'm'))
    }
    expect(await tareline()).toMatchObject({ exit: 2, out: '', error: help.out })
    expect(await tareline('wash')).toMatchObject({
      exit: 2,
      out: '',
      error: expect.stringMatching(/^There is no command "wash"\. Known are import, export, /),
    })
  })

  it.each(commands.map(({ name }) => name))('explains %s', async (name) => {
    const { exit, out, error } = await run(commands, name, '--help')
    expect({ exit, error }).toEqual({ exit: 0, error: '' })
    expect(out.startsWith(`Usage: npm run -s tareline -- ${name} `)).toBe(true)
  })

  it('keeps the answer on standard output and messages off it', async () => {
    expect(await run([entry(echo)], 'echo', 'hay', '--times', '2')).toEqual({ exit: 1, out: 'hay\n', error: 'said\n' })
    const { out, ...rest } = await run([entry(echo)], 'echo', 'hay', '--loud', '--times', '-2', '--json')
    expect(rest).toEqual({ exit: 1, error: 'said\n' })
    expect(JSON.parse(out)).toEqual({ word: 'hay', times: -2, loud: true })
  })

  it.each([
    [['echo', '--times', '2'], 'WORD is missing.'],
    [['echo', 'hay'], '--times is missing: how often is needed.'],
    [['echo', 'hay', 'straw', '--times', '2'], '"straw" is one argument too many.'],
    [['echo', 'hay', '--times', 'two'], '--times is "two"; a number is needed.'],
    [['echo', 'hay', '--quiet', '--times', '2'], "Unknown option '--quiet'."],
    [['echo', 'hay', '--times'], "Option '--times <value>' argument missing."],
  ])('refuses %j', async (args, sentence) => {
    expect(await run([entry(echo)], ...args)).toEqual({
      exit: 2,
      out: '',
      error: `${sentence}\n\nUsage: npm run -s tareline -- echo WORD --times N [--loud] [--json]\n`,
    })
  })

  it('tells errors that a person can put right, as JSON too, and owns up to the others', async () => {
    const known = entry(failing(new TarelineError('locked', 'The file is in use.')))
    expect(await run([known], 'fail')).toEqual({ exit: 2, out: '', error: 'The file is in use.\n' })
    expect(JSON.parse((await run([known], 'fail', '--json')).out)).toEqual({
      error: { code: 'locked', message: 'The file is in use.' },
    })
    expect(await run([entry(failing(new RangeError('oops')))], 'fail')).toMatchObject({
      exit: 70,
      out: '',
      error: expect.stringContaining('Tareline failed unexpectedly: RangeError: oops'),
    })
  })
})
