import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { filterInput, type HeavyView } from './heavy-view.ts'
import { plural } from './heavy-words.ts'

/** Saves what the log shows, all of it, as a file. */
export function HeavyExport({ view }: { view: HeavyView }) {
  const exporting = useMutation(
    api.heavy.export.mutationOptions({
      onSuccess: ({ file }) => {
        if (file) saveFile(file)
      },
    }),
  )
  const start = (format: 'csv' | 'spreadsheet') => exporting.mutate({ ...filterInput(view), format })
  const isBusy = (format: 'csv' | 'spreadsheet') => exporting.isPending && exporting.variables.format === format
  return (
    <div className="heavy-export">
      {exporting.isError && <span role="alert">{problemText(exporting.error)}</span>}
      <output className="quiet">
        {exporting.data?.file &&
          `Saved ${exporting.data.file.name}, ${count(exporting.data.rows)} ${plural(exporting.data.rows, 'row')}`}
      </output>
      <Button variant="default" loading={isBusy('csv')} disabled={isBusy('spreadsheet')} onClick={() => start('csv')}>
        Save as CSV
      </Button>
      <Button
        variant="default"
        loading={isBusy('spreadsheet')}
        disabled={isBusy('csv')}
        onClick={() => start('spreadsheet')}
      >
        Save as spreadsheet
      </Button>
    </div>
  )
}
