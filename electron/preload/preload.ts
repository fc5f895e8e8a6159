import { ipcRenderer } from 'electron'

/**
 * Passes the page's one port on to the app. Nothing of Electron is given to the page: a message carries only a port,
 * and the app checks the sender's frame before it takes it.
 */
window.addEventListener('message', (event) => {
  if (event.source !== window || event.data !== 'tareline:port') return
  const [port] = event.ports
  if (port) ipcRenderer.postMessage('tareline:port', null, [port])
})
