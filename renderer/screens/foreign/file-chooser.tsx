import { useMutation } from '@tanstack/react-query'
import type { ForeignFileSource } from '#core/api/foreign-contract.ts'
import { foreignFile } from '#core/fleet/foreign-mapping.ts'
import { sendFiles } from '#renderer/client/inbox.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SourceChooser } from '#renderer/parts/source-chooser.tsx'

/** Names the CSV file that is to be looked into. */
export function FileChooser({ onSource }: { onSource: (source: ForeignFileSource) => void }) {
  const sending = useMutation({
    mutationFn: async (file: File) => ({
      inbox: await sendFiles([{ file, path: foreignFile }]),
      name: file.name.slice(0, 255),
    }),
    onSuccess: onSource,
  })
  const take = ([file]: FileList) => {
    if (file) sending.mutate(file)
  }
  return (
    <SourceChooser
      choose="Choose a file…"
      busy={sending.isPending}
      input={{ label: 'CSV file', accept: '.csv,.txt,.tsv,text/csv,text/plain' }}
      typed={{ label: 'Or a file on this computer', example: 'C:\\Fleet\\tickets.csv', action: 'Look into it' }}
      onFiles={take}
      onDrop={({ files }) => take(files)}
      onPath={(path) => onSource({ path })}
    >
      {sending.isError && <ProblemNotice title="The file was not taken" error={sending.error} />}
    </SourceChooser>
  )
}
