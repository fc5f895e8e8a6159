import type { Shell } from 'electron/common'
import type { BrowserWindowConstructorOptions, MenuItemConstructorOptions, Session, WebContents } from 'electron/main'
import { isAppAddress } from '#electron/desktop/scheme.ts'

/** Sites that the app's screens point to: the law and the standards it works by. */
const knownHosts: ReadonlySet<string> = new Set([
  'uscode.house.gov',
  'www.ecfr.gov',
  'ops.fhwa.dot.gov',
  'www.bipm.org',
  'www.iso.org',
])

/** Whether a link may be opened in the person's browser: https, a known site, its usual port, nobody's name in it. */
function isKnownLink(address: string): boolean {
  const url = URL.parse(address)
  return (
    url !== null &&
    url.protocol === 'https:' &&
    knownHosts.has(url.hostname) &&
    url.port === '' &&
    url.username === '' &&
    url.password === ''
  )
}

/** Every window of the app: the page has no reach beyond the web's own. */
export const windowOptions = {
  width: 1440,
  height: 900,
  minWidth: 900,
  minHeight: 600,
  show: false,
  title: 'Tareline',
  backgroundColor: '#00000000',
  webPreferences: {
    contextIsolation: true,
    sandbox: true,
    nodeIntegration: false,
    nodeIntegrationInWorker: false,
    nodeIntegrationInSubFrames: false,
    webSecurity: true,
    allowRunningInsecureContent: false,
    experimentalFeatures: false,
    webviewTag: false,
    navigateOnDragDrop: false,
    spellcheck: false,
  },
} as const satisfies BrowserWindowConstructorOptions

/**
 * No page of the app needs a camera, a place, a notification or the like; what is only asked about is refused as well.
 */
export function denyPermissions(
  session: Pick<Session, 'setPermissionRequestHandler' | 'setPermissionCheckHandler' | 'setDevicePermissionHandler'>,
): void {
  session.setPermissionRequestHandler((_contents, _permission, decide) => decide(false))
  session.setPermissionCheckHandler(() => false)
  session.setDevicePermissionHandler(() => false)
}

/**
 * Keeps a page on the app's own address: no other page, frame, window or embedded view; known links go to the browser.
 */
export function guard(
  contents: Pick<WebContents, 'on' | 'setWindowOpenHandler'>,
  shell: Pick<Shell, 'openExternal'>,
  report: (error: unknown) => void,
): void {
  const stay = (event: { preventDefault(): void; url: string }) => {
    if (!isAppAddress(event.url)) event.preventDefault()
  }
  contents.on('will-navigate', stay)
  contents.on('will-redirect', stay)
  contents.on('will-frame-navigate', stay)
  contents.on('will-attach-webview', (event) => event.preventDefault())
  contents.setWindowOpenHandler(({ url }) => {
    if (isKnownLink(url)) shell.openExternal(url).catch(report)
    return { action: 'deny' }
  })
}

/** The usual commands and their keys; everything of the app itself is on its screens. */
export function menuTemplate(platform: NodeJS.Platform): MenuItemConstructorOptions[] {
  const appMenu: MenuItemConstructorOptions[] =
    platform === 'darwin' ? [{ role: 'appMenu' }] : [{ label: 'File', submenu: [{ role: 'quit' }] }]
  return [
    ...appMenu,
    { role: 'editMenu' },
    {
      label: 'View',
      submenu: [
        { role: 'resetZoom' },
        { role: 'zoomIn' },
        { role: 'zoomOut' },
        { type: 'separator' },
        { role: 'togglefullscreen' },
      ],
    },
    { role: 'windowMenu' },
  ]
}
