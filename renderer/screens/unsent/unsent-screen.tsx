import { Button } from '@mantine/core'
import { use, useState, useSyncExternalStore } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { keepPhotos } from '#renderer/client/draft-photos.ts'
import { type QueuedSave, outbox, sendAgain, takeOff } from '#renderer/client/outbox.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { DeskContext, leaveDraft } from '#renderer/parts/draft.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { useStanding } from '#renderer/parts/rights.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import './unsent-screen.css'

interface WaitingProps {
  save: QueuedSave
  onTakeBack: () => void
  onDiscard: () => void
}

function Waiting({ save, onTakeBack, onDiscard }: WaitingProps) {
  const { times } = useMeasures()
  const { words, typedAt, photos, refused, ticketId } = save
  return (
    <li className="unsent-save" data-refused={refused !== null || undefined}>
      <div>
        <strong>{words}</strong>
        <div className="quiet">
          {times.moment(new Date(typedAt).toISOString())}
          {photos.length > 0 &&
            `, ${phrase('{number, plural, one {# photo} other {# photos}}', { number: photos.length })}`}
        </div>
        {ticketId !== null && <div>{phrase('The ticket is in the record; its photos are not yet.')}</div>}
        {refused === null ? (
          <div>{phrase('Waits for the house.')}</div>
        ) : (
          <div role="alert" className="unsent-refused">
            {refused}
          </div>
        )}
      </div>
      <div className="flow">
        {refused !== null && (
          <Button onClick={() => void sendAgain(save)}>
            {phrase('Send again')}
            <span className="unheard">: {words}</span>
          </Button>
        )}
        {/* What is on its way could arrive as it was, and again as it was mended. */}
        {refused !== null && ticketId === null && (
          <Button onClick={onTakeBack}>
            {phrase('Take it back to its form')}
            <span className="unheard">: {words}</span>
          </Button>
        )}
        {refused !== null && (
          <Button onClick={onDiscard}>
            {phrase('Discard')}
            <span className="unheard"> {words}</span>
          </Button>
        )}
      </div>
    </li>
  )
}

/** What was saved on this device by whoever is signed in, and is not in the record yet. */
export function UnsentScreen() {
  const all = useSyncExternalStore(outbox.subscribe, outbox.now)
  const standing = useStanding()
  const desk = use(DeskContext)
  const person = standing.at === 'desk' ? standing.person?.name : undefined
  const own = all.filter((save) => save.person === person)
  const [leaving, setLeaving] = useState<QueuedSave | null>(null)
  const takeBack = async ({ id, form, photos }: QueuedSave) => {
    if (desk.file === undefined) return
    if (photos.length > 0)
      await keepPhotos(
        `${desk.file} ${form.draft}`,
        photos.map(({ file }) => file),
      )
    leaveDraft(desk, form.draft, form.text)
    await takeOff(id)
    go(hrefOf(form.screen))
  }
  return (
    <div className="page stack thumbs unsent">
      <ScreenTitle>{phrase('Not yet sent')}</ScreenTitle>
      {own.length === 0 ? (
        <p>{phrase('Everything that you saved on this device is in the record.')}</p>
      ) : (
        <p>
          {phrase(
            '{number, plural, one {# weighing of yours waits} other {# weighings of yours wait}} on this device. Each is sent by itself, once, when the house can be reached.',
            { number: own.length },
          )}
        </p>
      )}
      <ul className="bare unsent-list" aria-label={phrase('Not yet sent')}>
        {own.map((save) => (
          <Waiting
            key={save.id}
            save={save}
            onTakeBack={() => void takeBack(save)}
            onDiscard={() => setLeaving(save)}
          />
        ))}
      </ul>
      <Dialog
        opened={leaving !== null}
        onClose={() => setLeaving(null)}
        title={phrase('Discard {words}', { words: leaving?.words ?? '' })}
        size="sm"
      >
        <p>{phrase('What was typed, and its photos, are gone then, and nothing of them is in the record.')}</p>
        <div className="flow">
          <Button
            variant="filled"
            onClick={() => {
              if (leaving) void takeOff(leaving.id)
              setLeaving(null)
            }}
          >
            {phrase('Discard')}
          </Button>
          <Button onClick={() => setLeaving(null)}>{phrase('Keep')}</Button>
        </div>
      </Dialog>
    </div>
  )
}
