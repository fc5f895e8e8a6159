import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import type { ContractRouterClient } from '@orpc/contract'
import { type Browser, type Page, expect, test } from '@playwright/test'
import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import type { contract } from '#core/contracts/contract.ts'
import { smallFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'
import { enterAt } from '#tests/loopback/admission.ts'
import { violations } from '#tests/screens/violations.ts'

const root = resolve(import.meta.dirname, '../..')
const password = 'four words in a row'

/** A house as it is started on its own machine, and the procedures of that machine's own window. */
async function startHouse() {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-house-'))
  const port = 20_000 + (process.pid % 20_000)
  const child = spawn(
    process.execPath,
    ['electron/tareline.ts', 'house', '--db', join(folder, 'fleet.tareline'), '--port', String(port), '--json'],
    { cwd: root, env: { ...process.env, XDG_DATA_HOME: folder, XDG_CONFIG_HOME: folder }, stdio: ['ignore', 'pipe', 'pipe'] },
  )
  const ownWindow = await new Promise<string>((found, failed) => {
    let said = ''
    const listen = (part: Buffer) => {
      said += part.toString()
      const address = /"own_window": "([^"]+)"/.exec(said)?.[1]
      if (address !== undefined) found(address)
    }
    child.stdout.on('data', listen)
    child.stderr.on('data', listen)
    child.once('exit', (code) => failed(new Error(`The house ended with ${code}: ${said}`)))
  })
  const admission = await enterAt(ownWindow)
  const here: ContractRouterClient<typeof contract> = createORPCClient(
    new RPCLink({ url: `${new URL(ownWindow).origin}/rpc`, headers: admission }),
  )
  const from = join(folder, 'small')
  mkdirSync(from)
  writeFleetFolder(from, smallFleet)
  const steps = await here.folder.bringIn({ folder: from })
  for (let step = await steps.next(); !step.done; ) step = await steps.next()
  return {
    origin: `https://127.0.0.1:${port}`,
    here,
    stop: async () => {
      const ended = new Promise((done) => child.once('exit', done))
      child.kill('SIGTERM')
      await ended
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

const desk = async (browser: Browser, viewport = { width: 1280, height: 800 }): Promise<Page> =>
  (await browser.newContext({ ignoreHTTPSErrors: true, viewport })).newPage()
const phone = { width: 390, height: 844 }

const isAsWideAsThePage = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth)

async function choosePassword(page: Page): Promise<void> {
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByLabel('The same once more').fill(password)
  await page.getByRole('button', { name: 'Keep it and sign in' }).click()
}

test('a manager invites a driver, who weighs the units given from a phone until the session is ended', async ({
  browser,
}) => {
  // Passwords are slow to work out on purpose, and three desks are looked through.
  test.setTimeout(300_000)
  const house = await startHouse()
  try {
    const { token } = await house.here.people.invite({ name: 'Kim Vale', role: 'manager', units: [] })
    const manager = await desk(browser, phone)
    await manager.goto(house.origin)
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    expect(await violations(manager)).toEqual([])
    expect(await isAsWideAsThePage(manager)).toBe(true)
    await manager.getByLabel('Your name').fill('Kim Vale')
    await manager.getByLabel('Password', { exact: true }).fill('not the password')
    await manager.getByRole('button', { name: 'Sign in' }).click()
    await expect(manager.getByText('The name or the password is wrong.')).toBeVisible()

    await manager.goto(`${house.origin}/#/welcome/${token}`)
    await expect(manager.getByText('a manager, who changes everything')).toBeVisible()
    expect(await isAsWideAsThePage(manager)).toBe(true)
    await choosePassword(manager)
    await expect(manager.getByRole('heading', { name: 'Today' })).toBeVisible()
    expect(new URL(manager.url()).hash).not.toContain(token)

    await manager.setViewportSize({ width: 1280, height: 800 })
    await expect(manager.getByRole('button', { name: 'Signed in: Kim Vale · manager' })).toBeVisible()
    await manager.goto(`${house.origin}/#/people`)
    await manager.getByLabel('Name').fill('Lou Hart')
    await manager.getByLabel('Role').selectOption('driver')
    await manager.getByLabel('Units, with commas between them').fill('T-101')
    await manager.getByRole('button', { name: 'Make a link' }).click()
    const link = await manager.locator('.people-link').textContent()
    await expect(manager.getByText('Kim Vale invited Lou Hart as a driver.')).toBeVisible()

    const driver = await desk(browser, phone)
    await driver.goto(`${house.origin}/${new URL(link ?? '').hash}`)
    await choosePassword(driver)
    await expect(driver.getByRole('heading', { name: 'Weigh now' })).toBeVisible()
    await expect(driver.getByText('V-201')).toHaveCount(0)
    await driver.getByRole('button', { name: /all screens/ }).click()
    await expect(driver.getByRole('link', { name: 'Roster' })).toHaveCount(0)
    await driver.goto(`${house.origin}/#/roster`)
    await expect(driver.getByText('You are signed in as a driver, who has no part in this page.')).toBeVisible()

    await manager.getByRole('button', { name: 'Lou Hart' }).click()
    const sheet = manager.getByRole('dialog')
    expect(await violations(manager)).toEqual([])
    await sheet.getByRole('button', { name: 'End from Lou Hart' }).click()
    await expect(sheet.getByText('Lou Hart is signed in nowhere.')).toBeVisible()
    await driver.goto(`${house.origin}/#/weigh`)
    await expect(driver.getByRole('heading', { name: 'Sign in' })).toBeVisible()

    await manager.keyboard.press('Escape')
    await manager.getByRole('button', { name: /^Signed in/ }).click()
    await manager.getByRole('button', { name: 'Sign out' }).click()
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
    await manager.reload()
    await expect(manager.getByRole('heading', { name: 'Sign in' })).toBeVisible()
  } finally {
    await house.stop()
  }
})
