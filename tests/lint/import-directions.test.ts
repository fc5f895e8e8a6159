import { execFile } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'

const root = resolve(import.meta.dirname, '../..')
const biome = join(root, 'node_modules/.bin/biome')

const noWindow = 'core knows no window'
const oneOrder = 'Rooms stand in one order'
const noNode = 'Node.js builtin module'
const noSql = 'SQL lives in core/store only'
const onlyClient = "Screens reach data only through the api's client"
const noApi = 'Parts know no api'
const drawsNothing = 'The client draws nothing'
const ownScreen = 'A screen imports nothing of another screen'
const oneStack = 'Dialogs are stacked in one place'
const frozen = "A migration never changes with today's code"

/** The rooms of core, each importing only from those before it; the pure ones first. */
const rooms = [
  'words',
  'foreign/mapping',
  'line',
  'evidence',
  'weight',
  'findings',
  'cells',
  'bench',
  'contracts',
  'people',
  'store',
  'exchange',
  'foreign',
  'jobs',
  'door',
  'api',
] as const
const pureRooms = rooms.slice(0, rooms.indexOf('store'))

/** Every import of a later room by an earlier one, by the alias and by a path. */
const upward = rooms.flatMap((room, place) =>
  rooms.slice(place + 1).flatMap((later) => {
    const name = `${later.replace('/', '-')}`
    const back = room.includes('/') ? '../../' : '../'
    return [
      [`core/${room}/up-${name}.ts`, `#core/${later}/any.ts`, oneOrder],
      [`core/${room}/path-${name}.ts`, `${back}${later}/any.ts`, oneOrder],
    ] as const
  }),
)
const downward = rooms.flatMap((room, place) =>
  rooms
    .slice(0, place)
    .map((earlier) => [`core/${room}/down-${earlier.replace('/', '-')}.ts`, `#core/${earlier}/any.ts`] as const),
)

/** File in which the import stands, what it imports, and the sentence that refuses it. */
const refused: readonly (readonly [file: string, source: string, because: string])[] = [
  ...upward,
  ...rooms.flatMap(
    (folder) =>
      [
        [`core/${folder}/a.ts`, '#electron/start.ts', noWindow],
        [`core/${folder}/b.ts`, '#renderer/main.tsx', noWindow],
        [`core/${folder}/c.ts`, '../../renderer/main.tsx', noWindow],
        [`core/${folder}/d.ts`, 'react', noWindow],
        [`core/${folder}/e.ts`, 'react-dom/client', noWindow],
        [`core/${folder}/f.ts`, 'electron/main', noWindow],
        [`core/${folder}/g.ts`, '@mantine/core', noWindow],
        [`core/${folder}/h.ts`, 'recharts', noWindow],
      ] as const,
  ),
  ...pureRooms.flatMap(
    (folder) =>
      [
        [`core/${folder}/o.ts`, 'node:fs', noNode],
        [`core/${folder}/p.ts`, 'node:fs/promises', noNode],
      ] as const,
  ),
  ...rooms
    .filter((room) => room !== 'store')
    .flatMap(
      (folder) =>
        [
          [`core/${folder}/m.ts`, 'kysely', noSql],
          [`core/${folder}/n.ts`, 'better-sqlite3', noSql],
        ] as const,
    ),
  ['core/api/handlers/a.ts', 'better-sqlite3', noSql],
  ['renderer/screens/a.tsx', '#core/store/open.ts', onlyClient],
  ['renderer/screens/b.tsx', '../../core/store/open.ts', onlyClient],
  ['renderer/screens/c.tsx', '#core/exchange/csv.ts', onlyClient],
  ['renderer/screens/d.tsx', '#core/api/router.ts', onlyClient],
  ['renderer/screens/e.tsx', '#core/api/handlers/unit.ts', onlyClient],
  ['renderer/screens/k.tsx', '#core/foreign/import-foreign.ts', onlyClient],
  ['renderer/screens/l.tsx', '#core/jobs/threads.ts', onlyClient],
  ['renderer/screens/f.tsx', '#electron/start.ts', onlyClient],
  ['renderer/screens/g.tsx', 'electron/renderer', onlyClient],
  ['renderer/screens/h.tsx', 'better-sqlite3', onlyClient],
  ['renderer/screens/i.tsx', 'kysely', onlyClient],
  ['renderer/screens/j.tsx', 'node:path', noNode],
  ['renderer/parts/a.tsx', '#renderer/client/api.ts', noApi],
  ['renderer/parts/b.tsx', '../client/api.ts', noApi],
  ['renderer/parts/c.tsx', '#renderer/app/shell.tsx', noApi],
  ['renderer/parts/d.tsx', '#renderer/screens/log/log-screen.tsx', noApi],
  ['renderer/parts/e.tsx', '#core/store/open.ts', onlyClient],
  ['renderer/client/a.ts', '#renderer/parts/format.ts', drawsNothing],
  ['renderer/client/b.ts', '../screens/log/log-screen.tsx', drawsNothing],
  ['renderer/client/c.ts', '#renderer/app/shell.tsx', drawsNothing],
  ['renderer/client/d.ts', '#core/api/router.ts', onlyClient],
  ['renderer/screens/log/a.tsx', '#renderer/screens/shop/shop-screen.tsx', ownScreen],
  ['renderer/screens/log/b.tsx', '../shop/shop-screen.tsx', ownScreen],
  ['renderer/screens/log/c.tsx', '#renderer/app/shell.tsx', ownScreen],
  ['renderer/screens/log/d.tsx', '#core/store/open.ts', onlyClient],
  ['renderer/screens/unit/line/a.tsx', '#renderer/screens/shop/shop-screen.tsx', ownScreen],
  ['renderer/screens/unit/line/b.tsx', '../../shop/shop-screen.tsx', ownScreen],
  ['renderer/screens/unit/line/c.tsx', '../../../app/shell.tsx', ownScreen],
  ['renderer/screens/unit/line/d.tsx', '#core/jobs/threads.ts', onlyClient],
  ['migrations/0009-a.ts', '#core/words/vocabulary.ts', frozen],
  ['migrations/0009-b.ts', '../core/words/vocabulary.ts', frozen],
  ['migrations/0009-c.ts', '#renderer/main.tsx', frozen],
]

/** The directions that the layout wants: these stay allowed. */
const allowed: readonly (readonly [file: string, source: string])[] = [
  ...downward,
  ['core/store/z.ts', 'kysely'],
  ['core/store/x.ts', 'node:fs'],
  ['electron/z.ts', '#core/api/router.ts'],
  ['electron/y.ts', 'electron/main'],
  ['renderer/screens/z.tsx', '#core/contracts/contract.ts'],
  ['renderer/screens/w.tsx', '#core/foreign/mapping/guess.ts'],
  ['renderer/screens/y.tsx', '#core/line/predict.ts'],
  ['renderer/screens/x.tsx', '@mantine/core'],
  ['renderer/screens/log/z.tsx', '#renderer/parts/format.ts'],
  ['renderer/screens/log/y.tsx', '#renderer/client/api.ts'],
  ['renderer/screens/log/x.tsx', './undo-last.tsx'],
  ['renderer/screens/unit/line/z.tsx', '../chart/axis.ts'],
  ['renderer/parts/z.tsx', '#core/words/measures.ts'],
  ['renderer/app/z.tsx', '#renderer/screens/log/log-screen.tsx'],
  ['migrations/0009-z.ts', 'kysely'],
]

const [modalElsewhere, modalAtHome] = ['renderer/screens/log/modal.tsx', 'renderer/parts/dialog.tsx'] as const

interface Complaint {
  readonly message: string
  readonly category: string
  readonly location: { readonly path: string }
}

describe('the import directions that lint enforces', () => {
  let folder: string
  const complaints = new Map<string, string[]>()

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'tareline-lint-'))
    cpSync(join(root, '.biome.json'), join(folder, '.biome.json'))
    for (const [file, source] of [...refused, ...allowed]) {
      mkdirSync(dirname(join(folder, file)), { recursive: true })
      writeFileSync(join(folder, file), `import * as something from '${source}'\n\nexport const used = something\n`)
    }
    for (const file of [modalElsewhere, modalAtHome])
      writeFileSync(join(folder, file), `import { Modal } from '@mantine/core'\n\nexport const used = Modal\n`)
    // Biome exits with 1 because it finds something to refuse; the report is on standard output either way.
    const report = await new Promise<string>((answer) =>
      execFile(
        biome,
        ['lint', '--reporter=json', '--max-diagnostics=none', '.'],
        { cwd: folder, maxBuffer: 16 << 20 },
        (_, stdout) => answer(stdout),
      ),
    )
    const { diagnostics } = JSON.parse(report) as { diagnostics: Complaint[] }
    for (const { message, category, location } of diagnostics) {
      if (!/noRestrictedImports|noNodejsModules/.test(category)) continue
      complaints.set(location.path, [...(complaints.get(location.path) ?? []), message])
    }
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  it.each(refused)('%s may not import %s', (file, _, because) => {
    expect(complaints.get(file)?.join('\n') ?? 'nothing refused').toContain(because)
  })

  it('lets only the part that stacks dialogs open a window of its own', () => {
    expect(complaints.get(modalElsewhere)?.join('\n') ?? 'nothing refused').toContain(oneStack)
    expect(complaints.get(modalAtHome) ?? []).toEqual([])
  })

  it.each(allowed)('%s may import %s', (file) => {
    expect(complaints.get(file) ?? []).toEqual([])
  })
})
