import { saveFile } from '#renderer/parts/save-file.ts'
import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import './cab-cards.css'

/** More than these do not go into one file. */
const mostCards = 500

/** Saves the cab cards of units as one PDF to print, a page a unit; `label` names the button. */
export function CabCards({ units, label }: { units: readonly string[]; label: string }) {
  const making = useMutation(api.cabCard.make.mutationOptions({ onSuccess: saveFile }))
  const isTooMany = units.length > mostCards
  return (
    <div className="cab-cards">
      {making.isError && <span role="alert">{problemText(making.error)}</span>}
      <output className="quiet">
        {isTooMany
          ? `Cab cards go into one file for up to ${count(mostCards)} units: narrow the filters.`
          : making.data && `Saved ${making.data.name}. Open it to print.`}
      </output>
      <Button
        variant="default"
        loading={making.isPending}
        disabled={isTooMany || units.length === 0}
        onClick={() => making.mutate({ units: [...units] })}
      >
        {label}
      </Button>
    </div>
  )
}
