import { zstdCompressSync, zstdDecompressSync } from 'node:zlib'
import type { Store } from '#core/store/open.ts'

/** Bytes that were made in any order, held on the disk until they are taken out in the order of their numbers. */
export interface Spool {
  keep(made: Iterable<readonly [number: number, bytes: Uint8Array]>): void
  /** By rising number, of so many numbers at a time; what comes out is good until the next is asked for. */
  inOrder(): Generator<readonly Uint8Array[]>
  remove(): void
}

interface Piece {
  /** Number and length of each. */
  readonly sizes: string
  readonly bytes: Uint8Array
}

/**
 * A spool in a table that only this connection sees and that SQLite keeps in a file of its own, which is gone when the
 * program ends, however it ends. numbers: so many, from 1 on, come out at a time; what they have is held at once.
 */
export function openSpool({ raw }: Pick<Store, 'raw'>, numbers: number): Spool {
  raw.exec('create temp table spooled (stretch integer, sizes text, bytes blob)')
  const insert = raw.prepare('insert into temp.spooled values (?, ?, ?)')
  const keep = raw.transaction<Spool['keep']>((made) => {
    const stretches = Map.groupBy(made, ([number]) => Math.floor((number - 1) / numbers))
    for (const [stretch, own] of stretches) {
      const sizes = own.map(([number, { length }]) => [number, length])
      // Weighings of one fleet are alike: packed they are an eighth, and take less time than writing all of them.
      insert.run(stretch, JSON.stringify(sizes), zstdCompressSync(Buffer.concat(own.map(([, bytes]) => bytes))))
    }
  })
  return {
    keep,
    *inOrder() {
      raw.exec('create index temp.spooled_by_stretch on spooled (stretch)')
      const stretches = raw.prepare('select distinct stretch from temp.spooled order by stretch').pluck().all()
      const pieces = raw.prepare('select sizes, bytes from temp.spooled where stretch = ?')
      for (const stretch of stretches) {
        const own: [number: number, bytes: Uint8Array][] = []
        for (const { sizes, bytes } of pieces.all(stretch) as Piece[]) {
          const unpacked = zstdDecompressSync(bytes)
          let at = 0
          for (const [number, length] of JSON.parse(sizes) as [number, number][]) {
            own.push([number, unpacked.subarray(at, at + length)])
            at += length
          }
        }
        yield own.sort(([a], [b]) => a - b).map(([, bytes]) => bytes)
      }
    },
    remove: () => {
      raw.exec('drop table temp.spooled')
    },
  }
}
