import { useQueryClient } from '@tanstack/react-query'
import type { ImportOutcome } from '#core/api/import-contract.ts'
import { client } from '#renderer/client/api.ts'
import { type PlacedFile, sendFiles } from '#renderer/client/inbox.ts'
import { atStart, importRun } from '#renderer/parts/import-run.ts'

/** Files are sent first; their share of the whole is small, as they do not leave this computer. */
const sendingShare = 0.1

const folderRun = importRun<ImportOutcome>()
export const useImportState = folderRun.useState

/** Starts, cancels and forgets imports; one runs at a time. */
export function useBringIn() {
  const queries = useQueryClient()
  const start = async (...how: Parameters<typeof folderRun.run>) => {
    await folderRun.run(...how)
    await queries.invalidateQueries()
  }
  return {
    bringInFiles: (name: string, files: readonly PlacedFile[]) =>
      start(name, 'Sending the files', async (signal, onProgress) => {
        const inbox = await sendFiles(files, {
          signal,
          onSent: (file, sent) =>
            onProgress({ ...atStart(`Sent ${file}`), share: (sendingShare * sent) / files.length }),
        })
        return client.folder.bringIn({ inbox }, { signal })
      }),
    bringInFolder: (folder: string) =>
      start(folder, 'Opening the folder', (signal) => client.folder.bringIn({ folder }, { signal })),
    cancel: folderRun.cancel,
    forget: folderRun.forget,
  }
}
