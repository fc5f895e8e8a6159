import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { mostCabCards } from '#core/contracts/unit.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { phrase } from '#core/words/phrase.ts'

interface CabCardsProps {
  /** How many units have a card. */
  readonly total: number
  /** Names the button. */
  readonly label: string
  readonly make: () => Promise<File>
}

/** Saves the cab cards of units as one PDF to print, a page a unit. */
export function CabCards({ total, label, make }: CabCardsProps) {
  const making = useMutation({ mutationFn: make, onSuccess: saveFile })
  const isTooMany = total > mostCabCards
  return (
    <div className="flow">
      {making.isError && <span role="alert">{problemText(making.error)}</span>}
      <output className="quiet">
        {isTooMany
          ? phrase('Cab cards go into one file for up to {mostCards} units: narrow the filters.', {
              mostCards: count(mostCabCards),
            })
          : making.data && phrase('Saved {name}. Open it to print.', { name: making.data.name })}
      </output>
      <Button loading={making.isPending} disabled={isTooMany || total === 0} onClick={() => making.mutate()}>
        {label}
      </Button>
    </div>
  )
}
