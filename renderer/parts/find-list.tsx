import { Combobox, TextInput, useCombobox } from '@mantine/core'
import { type KeyboardEvent, type ReactNode, useEffect, useState } from 'react'
import './find-list.css'

interface FindListProps<T> {
  /** How the field and the list are heard. */
  readonly label: string
  readonly listLabel: string
  readonly text: string
  readonly problem?: string | null
  readonly items: readonly T[]
  readonly keyOf: (item: T) => string
  readonly children: (item: T, place: number) => ReactNode
  /** Whether Enter takes the first item where the arrows have chosen none. */
  readonly firstIsChosen?: boolean
  readonly onType: (text: string) => void
  readonly onPick: (item: T) => void
  /** Keys of its own, before those of the list. */
  readonly onKeyDown?: (event: KeyboardEvent<HTMLInputElement>) => void
}

/** A field that finds something while it is typed: what matches stands below it, and the arrows and Enter choose. */
export function FindList<T>({
  label,
  listLabel,
  text,
  problem = null,
  items,
  keyOf,
  children,
  firstIsChosen = false,
  onType,
  onPick,
  onKeyDown,
}: FindListProps<T>) {
  const list = useCombobox({ opened: true })
  const { resetSelectedOption, selectFirstOption } = list
  const shown = items.map(keyOf).join('\n')
  /** What a screen reader is told is chosen, until an arrow key has moved on: the library tells that itself. */
  const [first, setFirst] = useState<string | null>(null)
  // biome-ignore lint/correctness/useExhaustiveDependencies: chosen anew whenever other items are shown
  useEffect(() => {
    resetSelectedOption()
    setFirst(firstIsChosen ? selectFirstOption() : null)
  }, [shown, text, firstIsChosen])
  return (
    <Combobox
      store={list}
      onOptionSubmit={(key) => {
        const item = items.find((each) => keyOf(each) === key)
        if (item !== undefined) onPick(item)
      }}
    >
      {/* The list never closes, so Esc is for the dialog that it stands in. */}
      <Combobox.EventsTarget
        withExpandedAttribute
        {...{ 'data-mantine-stop-propagation': 'false' }}
        {...(first === null ? {} : { 'aria-activedescendant': first })}
      >
        <TextInput
          className="find-field"
          size="md"
          aria-label={label}
          placeholder={label}
          autoComplete="off"
          spellCheck={false}
          data-autofocus
          error={problem}
          errorProps={{ role: 'alert' }}
          value={text}
          onChange={(event) => onType(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key.startsWith('Arrow')) setFirst(null)
            onKeyDown?.(event)
          }}
        />
      </Combobox.EventsTarget>
      <Combobox.Options className="find-list" aria-label={listLabel}>
        {items.map((item, place) => (
          <Combobox.Option key={keyOf(item)} value={keyOf(item)} className="find-item">
            {children(item, place)}
          </Combobox.Option>
        ))}
      </Combobox.Options>
    </Combobox>
  )
}
