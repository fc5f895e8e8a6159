import { keepAttachment } from '#core/store/attachments.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'

export const photos = ['a ticket, photographed', 'another ticket'].map((text) => Buffer.from(text))

/** A fleet file with two attachments. */
export async function withPhotos(folder: string): Promise<{ file: string; store: Store; hashes: string[] }> {
  const file = await makeFleetFile(folder)
  const store = await openStore(file)
  const hashes = photos.map((bytes) => keepAttachment(file, bytes))
  for (const [index, sha256] of hashes.entries()) {
    store.raw
      .prepare(
        "insert into attachment (sha256, media_type, size_bytes, file_name) values (?, 'image/jpeg', ?, 'ticket.jpg')",
      )
      .run(sha256, photos[index]?.byteLength)
  }
  return { file, store, hashes }
}
