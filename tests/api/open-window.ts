import { expect } from 'vitest'
import { clientOver, type ways } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'

/**
 * A window of a running app over one of the ways, for a suite's tests. `end` closes both, whereupon the app has to have
 * reported no fault of its own: `beforeAll` and `beforeEach` call what they are returned.
 */
export async function openWindow(app: RunningApp, way: (typeof ways)[number] = 'a message port') {
  const { client, close } = await clientOver(way, app)
  const end = async () => {
    close()
    await app[Symbol.asyncDispose]()
    expect(app.reported).toEqual([])
  }
  return { app, client, end }
}
