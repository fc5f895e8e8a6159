import { expect, it, vi } from 'vitest'

const sent: unknown[][] = []
vi.mock('electron', () => ({ ipcRenderer: { postMessage: (...what: unknown[]) => void sent.push(what) } }))

it('passes on one named message with its port, from its own window only', async () => {
  const page = new EventTarget()
  vi.stubGlobal('window', page)
  await import('#electron/preload/preload.ts')
  const say = (source: unknown, data: unknown, ports: MessagePort[]) =>
    page.dispatchEvent(Object.assign(new Event('message'), { source, data, ports }))
  const { port1, port2 } = new MessageChannel()
  say(new EventTarget(), 'tareline:port', [port1])
  say(null, 'tareline:port', [port1])
  say(page, 'tareline:other', [port1])
  say(page, { channel: 'tareline:port' }, [port1])
  say(page, 'tareline:port', [])
  expect(sent).toEqual([])
  say(page, 'tareline:port', [port1, port2])
  expect(sent).toEqual([['tareline:port', null, [port1]]])
  expect(Object.keys(page)).toEqual([])
  port1.close()
})
