import { existsSync } from 'node:fs'
import { resolve } from 'node:path'
import { type Door, type OneTimeLink, atTheHouseMachine, linkHours, openDoor } from '#core/door/door.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Role, aRole, isRole, roleWords, roles } from '#core/words/roles.ts'
import {
  type Answer,
  type Command,
  type CommandInput,
  type Terminal,
  UsageError,
  dbOption,
} from '#electron/command/command.ts'

function readRole(input: CommandInput): Role {
  const role = input.text('role')
  if (!isRole(role)) throw new UsageError(`--role is "${role}"; ${roles.join(', ')} are accepted.`)
  return role
}

const readUnits = (input: CommandInput): string[] =>
  (input.textOr('units') ?? '')
    .split(',')
    .map((unit) => unit.trim())
    .filter((unit) => unit !== '')

/** The name of a person as it was typed. */
function readName(input: CommandInput): string {
  const name = input.argument(1).trim()
  if (name === '') throw new UsageError('NAME is missing.')
  if (name.length > 80) throw new UsageError('NAME is too long; at most 80 letters are accepted.')
  return name
}

/** The address behind which a one-time link stands; without the house's own it is put together by hand. */
const linkText = ({ address, token }: OneTimeLink): string => `${address ?? 'https://ADDRESS:PORT'}/#/welcome/${token}`

function linkAnswer(link: OneTimeLink): Answer {
  const { name, until, address } = link
  return {
    document: { name, link: linkText(link), until },
    text: linkText(link),
    messages: [
      `${name} chooses a password by this link, once, within ${linkHours} hours:`,
      ...(address === null ? ['ADDRESS:PORT are those that the house shows when it starts.'] : []),
    ],
  }
}

async function askPassword(name: string, ask: NonNullable<Terminal['askSecretly']>): Promise<string> {
  const password = await ask(`A password for ${name}, at least 10 letters: `)
  if ((await ask('The same once more: ')) !== password)
    throw new UsageError('The two passwords are not the same. Nothing was changed.')
  return password
}

async function add(door: Door, input: CommandInput, { askSecretly }: Terminal): Promise<Answer> {
  const [name, role] = [readName(input), readRole(input)]
  const rights = { role, units: readUnits(input) }
  if (!askSecretly || input.flag('link')) return linkAnswer(await door.invite(name, rights, atTheHouseMachine))
  await door.add(name, rights, await askPassword(name, askSecretly))
  return { document: { name, role }, text: `${name} may sign in as ${aRole(role)}, who ${roleWords[role]}.` }
}

async function idOf(door: Door, name: string): Promise<number> {
  const found = (await door.list()).find((person) => person.name.toLowerCase() === name.toLowerCase())
  if (!found) throw new TarelineError('no-such-person', `There is no person ${name}. "people list" tells who there is.`)
  return found.id
}

async function list(door: Door): Promise<Answer> {
  const people = (await door.list()).map(({ name, role, units, ended, hasPassword, sessions }) => ({
    name,
    role,
    units,
    state: ended ? 'ended' : hasPassword ? 'active' : 'invited',
    sessions: sessions.length,
  }))
  const width = Math.max(0, ...people.map(({ name }) => name.length))
  return {
    document: { people },
    text:
      people.length === 0
        ? 'Nobody may sign in yet. "people add NAME --role manager" lets the first person in.'
        : people
            .map(({ name, role, state, units }) =>
              `${name.padEnd(width)}  ${role}, ${state}  ${units.join(', ')}`.trimEnd(),
            )
            .join('\n'),
  }
}

/** Who may sign in at a house, said on its own machine. */
export const peopleCommand: Command = {
  name: 'people',
  summary: 'Say on the house machine who may sign in from other desks: list, add NAME, link NAME, end NAME.',
  arguments: ['ACTION', '[NAME]'],
  options: {
    db: dbOption,
    role: { type: 'string', value: 'ROLE', about: `of somebody who is added: ${roles.join(', ')}` },
    units: { type: 'string', value: 'A,B', about: 'the units that a driver may weigh' },
    link: { type: 'boolean', about: 'print a one-time link in place of asking for a password here' },
  },
  run: async (input, terminal) => {
    const file = resolve(input.text('db'))
    if (!existsSync(file))
      throw new TarelineError('missing', `${file} does not exist. Check the name, or import a fleet folder to make it.`)
    const door = await openDoor(file)
    try {
      switch (input.argument(0)) {
        case 'list':
          return await list(door)
        case 'add':
          return await add(door, input, terminal)
        case 'link': {
          const id = await idOf(door, readName(input))
          return linkAnswer(await door.newLink(id, atTheHouseMachine))
        }
        case 'end': {
          const name = readName(input)
          await door.end(await idOf(door, name), atTheHouseMachine)
          return { document: { name, ended: true }, text: `${name} may no longer sign in.` }
        }
        default:
          throw new UsageError(`ACTION is "${input.argument(0)}"; list, add, link and end are accepted.`)
      }
    } finally {
      await door.close()
    }
  },
}
