import type { IpcMain, MessagePortMain } from 'electron/main'
import { isAppAddress } from '#electron/desktop/scheme.ts'

/**
 * Gives the app's own top frame one port to the procedures; any other frame gets nothing, as messages on a port carry
 * no sender.
 */
export function handOver(
  ipc: Pick<IpcMain, 'on'>,
  give: (port: MessagePortMain) => void,
  onStranger: () => void,
): void {
  ipc.on('tareline:port', ({ senderFrame: frame, ports }) => {
    const [port] = ports
    if (!port) return
    if (frame && frame.parent === null && isAppAddress(frame.url)) give(port)
    else {
      port.close()
      onStranger()
    }
  })
}
