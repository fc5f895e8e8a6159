import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'

interface Options {
  readonly port: number
  readonly name: string | undefined
  readonly certificates: string | undefined
}

/** As systemd reads a word of a command: in quotes, its own marks doubled (systemd.syntax, systemd.service). */
const quoted = (word: string): string =>
  /^[\w./:=@-]+$/.test(word)
    ? word
    : `"${word.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('%', '%%').replaceAll('$', '$$$$')}"`

/** A unit of systemd that serves a fleet file from this folder of the program, by the Node.js that runs it now. */
export function serviceFile(root: string, db: string, { port, name, certificates }: Options): string {
  // The packed program is its own command line.
  const source = join(root, 'electron/run.js')
  const isPacked = !existsSync(source)
  const words = [
    process.execPath,
    ...(isPacked ? [] : [source, 'tareline']),
    'house',
    '--db',
    db,
    '--port',
    String(port),
    ...(name === undefined ? [] : ['--name', name]),
    ...(certificates === undefined ? [] : ['--certificates', certificates]),
  ]
  return [
    '# Put into /etc/systemd/system/tareline-house.service, then: systemctl enable --now tareline-house',
    '# The user tareline must own the fleet file and its folder.',
    '[Unit]',
    'Description=Tareline house',
    'Wants=network-online.target',
    'After=network-online.target',
    '',
    '[Service]',
    'User=tareline',
    `WorkingDirectory=${(isPacked ? dirname(process.execPath) : root).replaceAll('%', '%%')}`,
    `ExecStart=${words.map(quoted).join(' ')}`,
    'Restart=on-failure',
    'RestartSec=5',
    'TimeoutStopSec=60',
    'UMask=0077',
    'NoNewPrivileges=yes',
    'PrivateTmp=yes',
    'ProtectSystem=full',
    ...(port < 1024 ? ['AmbientCapabilities=CAP_NET_BIND_SERVICE'] : []),
    '',
    '[Install]',
    'WantedBy=multi-user.target',
  ].join('\n')
}
