import { useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, useEffect, useEffectEvent, useRef, useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { leaveOnDesk, readFromDesk } from '#renderer/parts/draft.ts'
import { answerForPerson, nameProblem, usePerson } from '#renderer/parts/person.ts'
import './dialog-field.css'
import './person-chip.css'

/** Under which the name lies on the desk, for a browser that forgets. */
const deskName = 'person'

function NameList({
  names,
  chosen,
  onPick,
}: {
  names: readonly string[]
  chosen: number
  onPick: (name: string) => void
}) {
  return (
    <div role="listbox" id="person-list" aria-label="Names in the change log" className="person-list">
      {names.map((name, index) => (
        // The field above keeps the focus and moves the choice, as a combobox does.
        // biome-ignore lint/a11y/useKeyWithClickEvents: Enter in the field does what a click does
        <div
          key={name}
          id={`person-${index}`}
          role="option"
          tabIndex={-1}
          aria-selected={index === chosen}
          className="person-name"
          onClick={() => onPick(name)}
        >
          {index < 9 && <kbd>{index + 1}</kbd>} {name}
        </div>
      ))}
    </div>
  )
}

function NameForm({ person, onPick }: { person: string; onPick: (name: string) => void }) {
  const people = useQuery(api.log.people.queryOptions())
  const [text, setText] = useState('')
  const [chosen, setChosen] = useState(-1)
  const [problem, setProblem] = useState<string | null>(null)
  const names = [...new Set([...(person ? [person] : []), ...(people.data ?? [])])].filter((name) =>
    name.toLowerCase().includes(text.trim().toLowerCase()),
  )
  const pick = (name: string) => {
    const wrong = nameProblem(name)
    setProblem(wrong)
    if (wrong === null) onPick(name.trim())
  }
  const onKeyDown = (event: KeyboardEvent) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key]
    // A number picks a name while nothing is typed: no name begins with one.
    const numbered = text === '' && /^[1-9]$/.test(event.key) ? names[Number(event.key) - 1] : undefined
    if (step !== undefined) setChosen((now) => Math.min(Math.max(now + step, -1), names.length - 1))
    else if (numbered !== undefined) pick(numbered)
    else if (event.key === 'Enter') pick(names[chosen] ?? text)
    else return
    event.preventDefault()
  }
  return (
    <>
      <input
        className="dialog-field"
        type="text"
        role="combobox"
        aria-label="Your name"
        placeholder="Your name"
        autoComplete="off"
        spellCheck={false}
        data-autofocus
        aria-expanded={names.length > 0}
        aria-controls="person-list"
        aria-autocomplete="list"
        aria-activedescendant={chosen >= 0 ? `person-${chosen}` : undefined}
        aria-invalid={problem !== null}
        aria-describedby="person-problem"
        value={text}
        onChange={(event) => {
          setText(event.currentTarget.value)
          setChosen(-1)
          setProblem(null)
        }}
        onKeyDown={onKeyDown}
      />
      <p id="person-problem" role="alert" className="person-problem">
        {problem}
      </p>
      {names.length > 0 && <NameList names={names} chosen={chosen} onPick={pick} />}
      <p className="quiet">
        The change log keeps this name with everything you save. Enter takes what you typed; a number picks a name.
      </p>
    </>
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
        title={person ? `${person} is at the counter. Press p for another.` : 'Say who is at the counter'}
      >
        <span className="unheard">At the counter: </span>
        <span className="bar-person-name">{person || 'Your name'}</span>
      </button>
      <Dialog opened={opened} onClose={() => settle(null)} title="Who is at the counter?" size="sm" yOffset="10vh">
        <NameForm person={person} onPick={pick} />
      </Dialog>
    </>
  )
}
