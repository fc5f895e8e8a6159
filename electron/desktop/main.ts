import { readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { shell } from 'electron/common'
import { app, BrowserWindow, dialog, ipcMain, Menu, protocol, session, utilityProcess } from 'electron/main'
import { TarelineError } from '#core/fleet/problem.ts'
import { isCommand, runCommand } from '#electron/desktop/command-mode.ts'
import { handOver } from '#electron/desktop/hand-over.ts'
import { menuTemplate } from '#electron/desktop/menu.ts'
import { appScheme, schemePrivileges, serveScheme } from '#electron/desktop/scheme.ts'
import { startService } from '#electron/desktop/service-process.ts'
import { denyPermissions, guard, windowOptions } from '#electron/desktop/window.ts'
import { readOptions } from '#electron/options.ts'
import { report } from '#electron/report.ts'
import { makeInboxRoot, removeInboxRoot } from '#electron/web/inboxes.ts'
import { webHandler } from '#electron/web/web.ts'

const root = app.getAppPath()
const args = process.argv.slice(app.isPackaged ? 1 : 2)
const built = (path: string) => join(root, 'dist', path)

function giveUp(sentence: string): void {
  dialog.showErrorBox('Tareline', sentence)
  app.exit(2)
}

function openWindow(): BrowserWindow {
  const preload = built('preload/preload.cjs')
  const window = new BrowserWindow({ ...windowOptions, webPreferences: { ...windowOptions.webPreferences, preload } })
  window.once('ready-to-show', () => window.show())
  app.on('second-instance', () => {
    if (window.isMinimized()) window.restore()
    window.focus()
  })
  window.loadURL(appScheme.address).catch(report)
  return window
}

async function start(): Promise<void> {
  await app.whenReady()
  const options = readOptions(args)
  const inboxRoot = makeInboxRoot()
  app.once('quit', () => removeInboxRoot(inboxRoot))
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }
  const service = await startService(utilityProcess, built('main/service.js'), {
    version, startWithDemo: options.demo, fleetFolder: join(root, 'demo-data/fleet'), inboxRoot,
    ...(options.db === undefined ? {} : { db: resolve(options.db) }),
  })
  let ending = false
  app.once('before-quit', () => {
    ending = true
    service.end()
  })
  void service.ended.then(() => {
    if (!ending) giveUp('The part of Tareline that keeps the fleet file has stopped. What was saved is kept: start Tareline again.')
  })
  denyPermissions(session.defaultSession)
  serveScheme(protocol, webHandler({ renderer: built('renderer'), inboxRoot }, report))
  handOver(ipcMain, service.give)
  app.on('web-contents-created', (_event, contents) => guard(contents, shell, report))
  Menu.setApplicationMenu(Menu.buildFromTemplate(menuTemplate(process.platform)))
  openWindow()
}

function fail(error: unknown): void {
  if (!(error instanceof TarelineError)) report(error)
  giveUp(error instanceof TarelineError ? error.message : 'Tareline could not start. The details are in the log.')
}

// These must come before Electron is ready, and nothing here may wait for it: `ready` comes only after this file has run.
protocol.registerSchemesAsPrivileged([schemePrivileges])
app.enableSandbox()
app.on('window-all-closed', () => app.quit())
if (isCommand(args)) {
  // A command runs beside an open window, as two programs may read one file.
  runCommand(args).then((code) => app.exit(code), (error: unknown) => {
    report(error)
    app.exit(70)
  })
} else if (app.requestSingleInstanceLock()) {
  start().catch(fail)
} else {
  app.quit()
}
