import { useRef, useState } from 'react'
import type { DismissedView } from '#core/contracts/base.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { ReasonForm } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import './set-aside-list.css'

interface DismissFindingProps {
  readonly title: string
  readonly message: string
  /** What brings it back, as the rest of a sentence: `another weighing of this group`. */
  readonly returnsWith: string
  /** Id of the heading that takes the focus once the finding, and its button with it, is gone. */
  readonly focusAfter: string
  readonly onDismiss: (dismissal: { reason: string; by: string }) => Promise<unknown>
}

/**
 * Sets a finding aside with a reason and a name, where that is open to whoever is here. One of severity stop asks for
 * work and cannot be: it gets no such button.
 */
export const DismissFinding = (props: DismissFindingProps) => useMay()('finding.dismiss') && <SetAside {...props} />

function SetAside({ title, message, returnsWith, focusAfter, onDismiss }: DismissFindingProps) {
  const [opened, setOpened] = useState(false)
  const button = useRef<HTMLButtonElement>(null)
  // The window would give the focus back to the button, which goes with its finding.
  const close = (focusOn: HTMLElement | null) => {
    setOpened(false)
    focusOn?.focus({ preventScroll: true })
  }
  const cancel = () => close(button.current)
  return (
    <>
      <LinkButton ref={button} asks about={title} onClick={() => setOpened(true)}>
        {phrase('Set aside')}
      </LinkButton>
      <Dialog
        opened={opened}
        onClose={cancel}
        title={phrase('Set aside: {title}', { title })}
        size="lg"
        returnFocus={false}
      >
        <ReasonForm
          empty={phrase('say why this finding needs no work.')}
          saveLabel={phrase('Set aside')}
          failed={phrase('The finding was not set aside')}
          onSave={onDismiss}
          onDone={() => close(document.getElementById(focusAfter))}
          onCancel={cancel}
        >
          <p>{message}</p>
          <p className="quiet">
            {phrase(
              'It stays away until new evidence arrives: {returnsWith}. The reason and your name are kept in the change log.',
              { returnsWith },
            )}
          </p>
        </ReasonForm>
      </Dialog>
    </>
  )
}

/** What was set aside, by whom and why, newest first; a finding that came back on new evidence stands above as well. */
export function SetAsideList({ setAside }: { setAside: readonly DismissedView[] }) {
  const { times } = useMeasures()
  if (setAside.length === 0) return null
  return (
    <details className="set-aside">
      <summary>{phrase('{setAside} set aside', { setAside: count(setAside.length) })}</summary>
      <ol className="bare">
        {setAside.map(({ at, by, message, reason }) => (
          <li key={`${at} ${message}`}>
            <p>{message}</p>
            <p className="quiet">
              {times.moment(at)}, {by}: {reason}
            </p>
          </li>
        ))}
      </ol>
    </details>
  )
}
