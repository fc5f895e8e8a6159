import { execFileSync } from 'node:child_process'
import { chownSync, existsSync, globSync, mkdtempSync, rmSync } from 'node:fs'
import { delimiter, dirname, join } from 'node:path'
import { tmpdir } from 'node:os'
import { freePort } from '#tests/free-port.ts'

/** The folder of PostgreSQL's programs: on the PATH, or where Debian puts the newest; undefined where there is none. */
export function postgresPrograms(): string | undefined {
  const onPath = (process.env['PATH'] ?? '').split(delimiter).map((folder) => join(folder, 'initdb'))
  const installed = globSync('/usr/lib/postgresql/*/bin/initdb').sort((a, b) =>
    b.localeCompare(a, 'en', { numeric: true }),
  )
  const found = [...onPath, ...installed].find((file) => existsSync(file))
  return found && dirname(found)
}

export interface Cluster {
  /** Address of a database of it, for a user. */
  address(database?: string, user?: string): string
  stop(): void
}

/** PostgreSQL refuses to run as root: then it runs as the account that its package made. */
const account = 'postgres'
const asAccount = (program: string, args: readonly string[]): [string, string[]] =>
  process.getuid?.() === 0
    ? ['setpriv', [`--reuid=${account}`, `--regid=${account}`, '--clear-groups', program, ...args]]
    : [program, [...args]]

/** Starts a cluster of its own in a folder of its own. Whoever connects is let in: it listens on this machine only. */
export async function startCluster(programs: string): Promise<Cluster> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-postgres-'))
  if (process.getuid?.() === 0) {
    const id = (flag: string) => Number(execFileSync('id', [flag, account], { encoding: 'utf8' }))
    chownSync(folder, id('-u'), id('-g'))
  }
  const run = (name: string, args: readonly string[]) => {
    const [program, all] = asAccount(join(programs, name), args)
    execFileSync(program, all, { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] })
  }
  const data = join(folder, 'data')
  const port = await freePort()
  run('initdb', ['-D', data, '-U', 'postgres', '-A', 'trust', '--no-sync', '-E', 'UTF8', '--locale', 'C'])
  const options = `-p ${port} -k ${folder} -c listen_addresses=127.0.0.1 -c fsync=off -c shared_buffers=16MB`
  run('pg_ctl', ['-D', data, '-w', '-l', join(folder, 'log'), '-o', options, 'start'])
  return {
    address: (database = 'postgres', user = 'postgres:s3cret-word') =>
      `postgres://${user}@127.0.0.1:${port}/${database}`,
    stop: () => {
      run('pg_ctl', ['-D', data, '-m', 'immediate', 'stop'])
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
