import type { MenuItemConstructorOptions } from 'electron/main'

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
