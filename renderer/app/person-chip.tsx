import { useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, useEffect, useEffectEvent, useRef, useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { leaveOnDesk, readFromDesk } from '#renderer/client/desk.ts'
import { FindList } from '#renderer/parts/find-list.tsx'
import { answerForPerson, nameProblem, usePerson } from '#renderer/parts/person.ts'
import { phrase } from '#core/words/phrase.ts'

/** Under which the name lies on the desk, for a browser that forgets. */
const deskName = 'person'

function NameForm({ person, onPick }: { person: string; onPick: (name: string) => void }) {
  const people = useQuery(api.log.people.queryOptions())
  const [text, setText] = useState('')
  const [problem, setProblem] = useState<string | null>(null)
  const names = [...new Set([...(person ? [person] : []), ...(people.data ?? [])])].filter((name) =>
    name.toLowerCase().includes(text.trim().toLowerCase()),
  )
  const pick = (name: string) => {
    const wrong = nameProblem(name)
    setProblem(wrong)
    if (wrong === null) onPick(name.trim())
  }
  const onKeyDown = (event: KeyboardEvent<HTMLInputElement>) => {
    // A number picks a name while nothing is typed: no name begins with one.
    const numbered = text === '' && /^[1-9]$/.test(event.key) ? names[Number(event.key) - 1] : undefined
    if (numbered === undefined) return
    event.preventDefault()
    pick(numbered)
  }
  return (
    <form
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        pick(text)
      }}
    >
      <FindList
        label={phrase('Your name')}
        listLabel={phrase('Names in the change log')}
        text={text}
        problem={problem}
        items={names}
        keyOf={(name) => name}
        onType={(typed) => {
          setText(typed)
          setProblem(null)
        }}
        onPick={pick}
        onKeyDown={onKeyDown}
      >
        {(name, place) => (
          <>
            {place < 9 && <kbd>{place + 1}</kbd>} {name}
          </>
        )}
      </FindList>
      <p className="quiet">
        {phrase(
          'The change log keeps this name with everything you save. Enter takes what you typed; a number picks a name.',
        )}
      </p>
    </form>
  )
}

/** Who works at this computer: shown in the bar, asked for once, switched by a key. */
export function PersonChip({ opened, onOpen, onClose }: { opened: boolean; onOpen: () => void; onClose: () => void }) {
  const [person, setPerson] = usePerson()
  const answer = useRef<((name: string | null) => void) | null>(null)
  const settle = (name: string | null) => {
    answer.current?.(name)
    answer.current = null
    onClose()
  }
  const ask = useEffectEvent(
    () =>
      new Promise<string | null>((resolve) => {
        answer.current?.(null)
        answer.current = resolve
        onOpen()
      }),
  )
  useEffect(() => answerForPerson(() => ask()), [])
  const remember = useEffectEvent((name: string | null) => {
    if (name !== null && person === '' && nameProblem(name) === null) setPerson(name)
  })
  useEffect(() => {
    void readFromDesk(deskName).then(remember)
  }, [])
  const pick = (name: string) => {
    setPerson(name)
    void leaveOnDesk(deskName, name)
    settle(name)
  }
  return (
    <>
      <button
        type="button"
        className="bar-tool bar-person"
        onClick={onOpen}
        aria-haspopup="dialog"
        title={
          person
            ? phrase('{person} is at the counter. Press p for another.', { person })
            : phrase('Say who is at the counter')
        }
      >
        <span className="unheard">{phrase('At the counter:')} </span>
        <span className="bar-person-name">{person || phrase('Your name')}</span>
      </button>
      <Dialog
        opened={opened}
        onClose={() => settle(null)}
        title={phrase('Who is at the counter?')}
        size="sm"
        yOffset="10vh"
      >
        <NameForm person={person} onPick={pick} />
      </Dialog>
    </>
  )
}
