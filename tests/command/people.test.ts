import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { isPassword } from '#core/door/password.ts'
import { openDoor } from '#core/door/door.ts'
import { findAccount } from '#core/store/people/accounts.ts'
import { openPeopleFile } from '#core/store/people/people-file.ts'
import { peopleCommand } from '#electron/command/people.ts'
import { runHere } from '#tests/command/run-here.ts'

let folder: string
let db: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-people-'))
  db = join(folder, 'fleet.tareline')
  writeFileSync(db, '')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const run = (...args: string[]) => runHere('people', '--db', db, ...args)

it('lets the first person in by a one-time link where nobody sits at a terminal', async () => {
  expect((await run('list')).out).toContain('Nobody may sign in yet')
  const { exit, out, error } = await run('add', 'Kim Vale', '--role', 'manager')
  expect([exit, out]).toEqual([0, expect.stringMatching(/^https:\/\/ADDRESS:PORT\/#\/welcome\/[\w-]{43}\n$/)])
  expect(error).toContain('Kim Vale chooses a password by this link, once, within 48 hours')
  const door = await openDoor(db)
  await door.keepAddress('https://yard.example:8443')
  await door.close()
  expect((await run('link', 'kim vale')).out).toMatch(/^https:\/\/yard\.example:8443\/#\/welcome\/[\w-]{43}\n$/)
  expect((await run('list')).out).toBe('Kim Vale  manager, invited\n')
  expect((await run('end', 'Kim Vale')).out).toBe('Kim Vale may no longer sign in.\n')
  expect((await run('list')).out).toBe('Kim Vale  manager, ended\n')
})

it('says what is wrong with what was typed', async () => {
  await run('add', 'Kim', '--role', 'shop')
  for (const [args, said] of [
    [['add', 'KIM', '--role', 'shop'], 'Kim is on the list already'],
    [['add', 'Lee'], '--role is missing'],
    [['add', 'Lee', '--role', 'boss'], '--role is "boss"; driver, shop, counter, manager, owner are accepted.'],
    [['add', '--role', 'shop'], 'NAME is missing'],
    [['link', 'Nobody'], 'There is no person Nobody'],
    [['sack', 'Kim'], 'ACTION is "sack"; list, add, link and end are accepted.'],
  ] as const) {
    const { exit, error } = await run(...args)
    expect([args, exit, error]).toEqual([args, 2, expect.stringContaining(said)])
  }
})

it('keeps a password that is asked for twice at the terminal, and nothing of one that is not the same', async () => {
  const answers = ['four words in a row', 'five words in a row', 'four words in a row', 'four words in a row']
  const terminal = {
    progress: () => undefined,
    signal: new AbortController().signal,
    askSecretly: async () => answers.shift() ?? '',
  }
  const input = {
    argument: (index: number) => ['add', 'Lee'][index] ?? '',
    text: (option: string) => (option === 'db' ? db : 'driver'),
    textOr: () => 'T-101, V-201',
    numberOr: () => undefined,
    flag: () => false,
  }
  await expect(peopleCommand.run(input, terminal)).rejects.toThrow('The two passwords are not the same.')
  await peopleCommand.run(input, terminal)
  const { db: people, close } = await openPeopleFile(db)
  const lee = await findAccount(people, 'Lee')
  await close()
  expect(lee).toMatchObject({ role: 'driver', units: ['T-101', 'V-201'] })
  expect(await isPassword('four words in a row', lee?.password ?? null)).toBe(true)
})
