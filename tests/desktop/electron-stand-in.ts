import { EventEmitter } from 'node:events'
import { Worker } from 'node:worker_threads'
import type {
  App,
  BrowserWindowConstructorOptions,
  CustomScheme,
  IpcMain,
  MenuItemConstructorOptions,
  OpenDialogOptions,
  OpenDialogReturnValue,
  Protocol,
  Session,
  Shell,
  UtilityProcess,
} from 'electron'

/**
 * Stands in for Electron where its program is not installed: the same names and shapes, typed by Electron's own types,
 * keeping what the app asked of it so that a test can look. The utility process is a real thread that runs the real
 * service on a real file; ports are real message ports.
 */
export const asked = {
  schemes: [] as CustomScheme[],
  windows: [] as BrowserWindow[],
  handlers: new Map<string, Parameters<Protocol['handle']>[1]>(),
  opened: [] as string[],
  errorBoxes: [] as string[],
  folderDialogs: [] as OpenDialogOptions[],
  exitCodes: [] as number[],
  menu: [] as MenuItemConstructorOptions[],
  threads: [] as Worker[],
  beforeReady: [] as string[],
  permissions: {} as {
    request?: Parameters<Session['setPermissionRequestHandler']>[0]
    check?: Parameters<Session['setPermissionCheckHandler']>[0]
    device?: Parameters<Session['setDevicePermissionHandler']>[0]
  },
}

/** What a test decides before it loads the app. */
export const given = {
  appPath: '',
  /** The folder that a person picks in the system's window; undefined: the window is closed without. */
  pickedFolder: undefined as string | undefined,
  /** Whether a forked process runs the file it is given, as a packed app's does; else the service's source. */ runForked: false,
}

let ready = false
const readyGate = Promise.withResolvers<void>()
export function becomeReady(): void {
  ready = true
  readyGate.resolve()
}

const onlyBeforeReady = (call: string) => {
  if (ready) throw new Error(`${call} was called after Electron was ready`)
  asked.beforeReady.push(call)
}
const onlyWhenReady = (call: string) => {
  if (!ready) throw new Error(`${call} was called before Electron was ready`)
}

class StandInApp extends EventEmitter {
  readonly isPackaged = false
  whenReady = () => readyGate.promise
  getAppPath = () => given.appPath
  enableSandbox = () => onlyBeforeReady('enableSandbox')
  requestSingleInstanceLock = () => true
  quit = () => {
    this.emit('before-quit', {})
    this.emit('quit', {}, 0)
  }
  exit = (code = 0) => void asked.exitCodes.push(code)
}
export const app = new StandInApp() as unknown as App & StandInApp

export class WebContents extends EventEmitter {
  openHandler: Parameters<Electron.WebContents['setWindowOpenHandler']>[0] | undefined
  setWindowOpenHandler(handler: Parameters<Electron.WebContents['setWindowOpenHandler']>[0]) {
    this.openHandler = handler
  }
}

export class BrowserWindow extends EventEmitter {
  readonly webContents = new WebContents()
  readonly loaded: string[] = []
  shown = false
  readonly options: BrowserWindowConstructorOptions
  constructor(options: BrowserWindowConstructorOptions) {
    super()
    onlyWhenReady('new BrowserWindow')
    this.options = options
    asked.windows.push(this)
    app.emit('web-contents-created', {}, this.webContents)
  }
  async loadURL(address: string) {
    this.loaded.push(address)
    this.emit('ready-to-show')
  }
  show() {
    this.shown = true
  }
  isMinimized = () => false
  restore = () => undefined
  focus = () => undefined
}

export const dialog = {
  showErrorBox: (title: string, content: string) => void asked.errorBoxes.push(`${title}: ${content}`),
  showOpenDialog: async (options: OpenDialogOptions): Promise<OpenDialogReturnValue> => {
    asked.folderDialogs.push(options)
    const picked = given.pickedFolder
    return { canceled: picked === undefined, filePaths: picked === undefined ? [] : [picked] }
  },
}
export const ipcMain = new EventEmitter() as unknown as IpcMain
export const Menu = {
  buildFromTemplate: (template: MenuItemConstructorOptions[]) => template,
  setApplicationMenu: (menu: MenuItemConstructorOptions[]) => {
    asked.menu = menu
  },
}
export const shell: Pick<Shell, 'openExternal'> = { openExternal: async (address) => void asked.opened.push(address) }

export const protocol: Pick<Protocol, 'registerSchemesAsPrivileged' | 'handle'> = {
  registerSchemesAsPrivileged: (schemes) => {
    onlyBeforeReady('registerSchemesAsPrivileged')
    asked.schemes.push(...schemes)
  },
  handle: (scheme, handler) => {
    onlyWhenReady('protocol.handle')
    asked.handlers.set(scheme, handler)
  },
}

export const session: {
  defaultSession: Pick<
    Session,
    'setPermissionRequestHandler' | 'setPermissionCheckHandler' | 'setDevicePermissionHandler'
  >
} = {
  defaultSession: {
    setPermissionRequestHandler: (handler) => {
      asked.permissions.request = handler
    },
    setPermissionCheckHandler: (handler) => {
      asked.permissions.check = handler
    },
    setDevicePermissionHandler: (handler) => {
      asked.permissions.device = handler
    },
  },
}

class StandInProcess extends EventEmitter {
  readonly #thread: Worker
  constructor(file: string, args: readonly string[]) {
    super()
    this.#thread = new Worker(new URL('./utility-thread.ts', import.meta.url), {
      argv: given.runForked ? [...args, file] : [...args],
    })
    asked.threads.push(this.#thread)
    this.#thread.on('message', (message: unknown) => this.emit('message', message))
    this.#thread.on('error', (error: Error) => this.emit('error', error))
    this.#thread.on('exit', (code: number) => this.emit('exit', code))
  }
  postMessage(data: unknown, ports: readonly MessagePort[] = []) {
    this.#thread.postMessage({ data, ports }, ports as unknown as import('node:worker_threads').Transferable[])
  }
  kill() {
    void this.#thread.terminate()
    return true
  }
}

export const forked: string[] = []
export const utilityProcess = {
  fork(file: string, args: readonly string[]): UtilityProcess {
    onlyWhenReady('utilityProcess.fork')
    forked.push(file)
    return new StandInProcess(file, args) as unknown as UtilityProcess
  },
}
