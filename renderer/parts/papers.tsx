import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { phrase } from '#core/words/phrase.ts'
import './papers.css'

interface PapersProps {
  /** What each button says, and how its file is made. */
  readonly papers: readonly (readonly [label: string, make: () => Promise<File>])[]
  /** Whether there is nothing to save. */
  readonly disabled?: boolean
}

/** Buttons that save what a screen shows as files: to print, for a spreadsheet, for a calendar. */
export function Papers({ papers, disabled = false }: PapersProps) {
  const making = useMutation({
    mutationFn: async (place: number) => papers[place]?.[1](),
    onSuccess: (file) => {
      if (file) saveFile(file)
    },
  })
  return (
    <div className="flow papers">
      {making.isError && <span role="alert">{problemText(making.error)}</span>}
      <output className="quiet">{making.data && phrase('Saved {name}', { name: making.data.name })}</output>
      {papers.map(([label], place) => (
        <Button
          key={label}
          loading={making.isPending && making.variables === place}
          disabled={disabled || (making.isPending && making.variables !== place)}
          onClick={() => making.mutate(place)}
        >
          {label}
        </Button>
      ))}
    </div>
  )
}
