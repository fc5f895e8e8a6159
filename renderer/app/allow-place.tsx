import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useEffect, useEffectEvent, useRef, useState } from 'react'
import { answerForPlaces } from '#renderer/client/allowed-places.ts'
import { api, inDesktopWindow } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './allow-place.css'

function AllowForm({ folder, onDone }: { folder: string; onDone: (allowed: boolean) => void }) {
  const allow = useMutation(api.places.allow.mutationOptions({ onSuccess: () => onDone(true) }))
  const pick = useMutation(api.places.pick.mutationOptions({ onSuccess: (picked) => picked && onDone(true) }))
  const asked = inDesktopWindow() ? pick : allow
  return (
    <div className="stack allow-place">
      <p>
        <Phrase
          text="<strong>{folder}</strong> is outside the folders that Tareline’s windows may use."
          with={{ strong: (words) => <strong className="place-name">{words}</strong>, folder }}
        />
      </p>
      <p>
        {phrase(
          'Once it is allowed, they may read the files in it and in the folders below it, and write exports and copies there, from now on. You can take that back under About.',
        )}
      </p>
      {asked.isError && <ProblemNotice title={phrase('The folder was not allowed')} error={asked.error} />}
      <div className="flow">
        {inDesktopWindow() ? (
          <Button
            variant="filled"
            data-autofocus
            loading={pick.isPending}
            onClick={() => pick.mutate({ startAt: folder })}
          >
            {phrase('Pick this folder…')}
          </Button>
        ) : (
          <Button variant="filled" data-autofocus loading={allow.isPending} onClick={() => allow.mutate({ folder })}>
            {phrase('Allow this folder')}
          </Button>
        )}
        <Button onClick={() => onDone(false)}>{phrase('Cancel')}</Button>
      </div>
    </div>
  )
}

/** Asks once, over whatever screen, before a window uses a folder that nobody has allowed yet. */
export function AllowPlace() {
  const [folder, setFolder] = useState<string | null>(null)
  const answer = useRef<((allowed: boolean) => void) | null>(null)
  const settle = (allowed: boolean) => {
    answer.current?.(allowed)
    answer.current = null
    setFolder(null)
  }
  const ask = useEffectEvent(
    (wanted: string) =>
      new Promise<boolean>((resolve) => {
        answer.current?.(false)
        answer.current = resolve
        setFolder(wanted)
      }),
  )
  useEffect(() => answerForPlaces((wanted) => ask(wanted)), [])
  return (
    <Dialog opened={folder !== null} onClose={() => settle(false)} title={phrase('Allow this folder?')} yOffset="10vh">
      {folder !== null && <AllowForm folder={folder} onDone={settle} />}
    </Dialog>
  )
}
