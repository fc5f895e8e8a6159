import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { phrase } from '#core/words/phrase.ts'

/** More than these do not go into one file. */
const mostCards = 500

interface CabCardsProps {
  readonly units: readonly string[]
  /** Names the button. */
  readonly label: string
  readonly make: (of: { units: string[] }) => Promise<File>
}

/** Saves the cab cards of units as one PDF to print, a page a unit. */
export function CabCards({ units, label, make }: CabCardsProps) {
  const making = useMutation({ mutationFn: make, onSuccess: saveFile })
  const isTooMany = units.length > mostCards
  return (
    <div className="flow">
      {making.isError && <span role="alert">{problemText(making.error)}</span>}
      <output className="quiet">
        {isTooMany
          ? phrase('Cab cards go into one file for up to {mostCards} units: narrow the filters.', {
              mostCards: count(mostCards),
            })
          : making.data && phrase('Saved {name}. Open it to print.', { name: making.data.name })}
      </output>
      <Button
        loading={making.isPending}
        disabled={isTooMany || units.length === 0}
        onClick={() => making.mutate({ units: [...units] })}
      >
        {label}
      </Button>
    </div>
  )
}
