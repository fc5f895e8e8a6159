import { afterEach, expect, it, vi } from 'vitest'

afterEach(() => {
  vi.restoreAllMocks()
})

async function run(...args: string[]) {
  vi.resetModules()
  const standIn = await import('#tests/desktop/electron-stand-in.ts')
  const said = { out: '', error: '' }
  const keep = (to: 'out' | 'error') => (text: unknown, done?: unknown) => {
    said[to] += String(text)
    if (typeof done === 'function') done()
    return true
  }
  vi.spyOn(process.stdout, 'write').mockImplementation(keep('out'))
  vi.spyOn(process.stderr, 'write').mockImplementation(keep('error'))
  process.argv = ['electron', '.', ...args]
  await import('#electron/desktop/main.ts')
  await vi.waitUntil(() => standIn.asked.exitCodes.length > 0, { timeout: 60_000 })
  vi.restoreAllMocks()
  return {
    ...said,
    codes: standIn.asked.exitCodes,
    windows: standIn.asked.windows.length,
    threads: standIn.asked.threads.length,
  }
}

it('the packaged app runs a command without a window, before Electron is ready', async () => {
  const help = await run('help')
  expect(help).toMatchObject({ codes: [0], windows: 0, threads: 0, error: '' })
  expect(help.out).toContain('import')
})

it('the packaged app ends with the command’s code and keeps standard output for its answer', async () => {
  const missing = await run('trust', '--db', 'nowhere.tareline', '--json')
  expect(missing).toMatchObject({
    codes: [2],
    windows: 0,
    error: expect.stringContaining('nowhere.tareline does not exist'),
  })
  expect(JSON.parse(missing.out)).toMatchObject({ error: { code: 'missing' } })
  expect((await run('tarelines')).codes).toEqual([2])
})
