import { shell } from 'electron/common'
import { BrowserWindow, Menu, app, dialog, ipcMain, protocol, session, utilityProcess } from 'electron/main'
import { readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { TarelineError } from '#core/words/problem.ts'
import { fileAmong, isCommand, runCommand } from '#electron/desktop/command-mode.ts'
import { handOver } from '#electron/desktop/hand-over.ts'
import { appScheme, schemePrivileges, serveScheme } from '#electron/desktop/scheme.ts'
import { type Service, startService } from '#electron/desktop/service-process.ts'
import { denyPermissions, guard, menuTemplate, windowOptions } from '#electron/desktop/window.ts'
import { openLog, startOf } from '#electron/log/log.ts'
import { readOptions } from '#electron/options.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'
import { logFolder, reportTo } from '#electron/session.ts'
import { removeInboxRoot } from '#electron/web/inboxes.ts'
import { webHandler } from '#electron/web/web.ts'

keepFilesPrivate()
const root = app.getAppPath()
const args = process.argv.slice(app.isPackaged ? 1 : 2)
const built = (path: string) => join(root, 'dist', path)

const log = openLog(logFolder())
const report = reportTo(log)

/** A fleet file that the system handed over before the service could take it. */
let handedOver: string | undefined
let running: Service | undefined

function giveUp(sentence: string): void {
  dialog.showErrorBox('Tareline', sentence)
  app.exit(2)
}

function openFile(file: string): void {
  if (running) running.open(file)
  else handedOver = file
}

function openWindow(): BrowserWindow {
  const preload = built('preload/preload.cjs')
  const window = new BrowserWindow({ ...windowOptions, webPreferences: { ...windowOptions.webPreferences, preload } })
  window.once('ready-to-show', () => window.show())
  app.on('second-instance', (_event, theirs, folder) => {
    const file = fileAmong(theirs.slice(1))
    if (file !== undefined) openFile(resolve(folder, file))
    if (window.isMinimized()) window.restore()
    window.focus()
  })
  window.loadURL(appScheme.address).catch(report)
  return window
}

/** The system's own window for picking a folder: what a person picks there, Tareline's windows may use. */
async function pickFolder(startAt: string | null): Promise<string | null> {
  const { canceled, filePaths } = await dialog.showOpenDialog({
    title: 'Allow Tareline a folder',
    message: 'Tareline may then read what is in this folder, and write exports and copies there.',
    buttonLabel: 'Allow this folder',
    properties: ['openDirectory', 'createDirectory'],
    ...(startAt === null ? {} : { defaultPath: startAt }),
  })
  return canceled ? null : (filePaths[0] ?? null)
}

/** The file to start with: one a person opened, or one that is named as an option. */
function startOptions() {
  const opened = fileAmong(args)
  const options = readOptions(args.filter((arg) => arg !== opened || args.includes('--db')))
  const db = options.db ?? handedOver ?? opened
  return { startWithDemo: options.demo && handedOver === undefined, ...(db === undefined ? {} : { db: resolve(db) }) }
}

async function start(): Promise<void> {
  await app.whenReady()
  const options = startOptions()
  const inboxRoot = makeRunFolder('inbox')
  app.once('quit', () => removeInboxRoot(inboxRoot))
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }
  log.write(startOf('desktop', version))
  const service = await startService(
    utilityProcess,
    built('main/service.js'),
    {
      version,
      fleetFolder: join(root, 'demo-data/fleet'),
      inboxRoot,
      ...options,
    },
    { onNotOpened: (sentence) => dialog.showErrorBox('Tareline', sentence), pickFolder },
  )
  running = service
  if (handedOver !== undefined && handedOver !== options.db) service.open(handedOver)
  let ending = false
  app.once('before-quit', () => {
    ending = true
    log.write({ what: 'end', window: 'desktop' })
    service.end()
  })
  void service.ended.then(() => {
    if (!ending)
      giveUp(
        'The part of Tareline that keeps the fleet file has stopped. What was saved is kept: start Tareline again.',
      )
  })
  denyPermissions(session.defaultSession)
  serveScheme(protocol, webHandler({ renderer: built('renderer'), inboxRoot }, report))
  handOver(ipcMain, service.give, () => log.write({ what: 'turned-away', why: 'origin' }))
  app.on('web-contents-created', (_event, contents) => guard(contents, shell, report))
  app.on('render-process-gone', (_event, _contents, { reason }) =>
    log.write({ what: 'fault', name: 'RenderProcessGone', code: reason, at: [] }),
  )
  Menu.setApplicationMenu(Menu.buildFromTemplate(menuTemplate(process.platform)))
  openWindow()
}

function fail(error: unknown): void {
  if (!(error instanceof TarelineError)) report(error)
  giveUp(error instanceof TarelineError ? error.message : 'Tareline could not start. The details are in the log.')
}

process.on('unhandledRejection', report)
process.on('uncaughtExceptionMonitor', log.fault)
// These must come before Electron is ready, and nothing here may wait for it: `ready` comes only after this file has
// run.
protocol.registerSchemesAsPrivileged([schemePrivileges])
app.enableSandbox()
app.on('window-all-closed', () => app.quit())
// macOS tells of a file by an event, which comes before the app is ready when the file started it.
app.on('open-file', (event, file) => {
  event.preventDefault()
  openFile(file)
})
if (isCommand(args)) {
  // A command runs beside an open window, as two programs may read one file.
  runCommand(args).then(
    (code) => app.exit(code),
    (error: unknown) => {
      report(error)
      app.exit(70)
    },
  )
} else if (app.requestSingleInstanceLock()) {
  start().catch(fail)
} else {
  app.quit()
}
