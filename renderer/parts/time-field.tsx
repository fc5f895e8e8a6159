import { NativeSelect, TextInput, type TextInputProps } from '@mantine/core'
import { type ChangeEvent, useRef } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { useMeasures } from './format.ts'
import './time-field.css'
import { type TimeText, clockText, withOffset } from './times.ts'

interface TimeFieldProps extends Omit<TextInputProps, 'value' | 'onChange' | 'type'> {
  readonly value: TimeText
  /** The element's value is the new text. */
  readonly onChange: (event: ChangeEvent<HTMLInputElement | HTMLSelectElement>) => void
}

const isWritten = /^\d{4}-\d\d-\d\d[T ]\d\d:\d\d/

/**
 * A date and a time as the fleet's clocks show them, typed as people write them or picked on a calendar, which the
 * pointer opens and the Tab key passes; in the night when the clocks show a time twice, also which of the two.
 */
export function TimeField({ value, onChange, description, ...props }: TimeFieldProps) {
  const { times } = useMeasures()
  const calendar = useRef<HTMLInputElement>(null)
  const time = times.clock(value)
  const name = props['aria-label'] ?? (typeof props.label === 'string' ? props.label : phrase('Time'))
  const choice = (ms: number, which: string) => ({
    value: withOffset(ms, times.zone),
    label: phrase('the {which}, {ms}', { which, ms: times.zoneAt(ms) }),
  })
  const written = isWritten.test(value)
  const read = written || time?.occurs !== 'once' ? null : times.moment(new Date(time.at).toISOString())
  const shown = written ? clockText(value).replace('T', ' ') : value
  return (
    <>
      <TextInput
        placeholder={phrase('such as 2026-03-01 14:30')}
        {...props}
        className="time-field"
        autoComplete="off"
        spellCheck={false}
        inputWrapperOrder={['label', 'input', 'description', 'error']}
        description={read === null ? description : phrase('read as {read}', { read })}
        value={shown}
        onChange={onChange}
        rightSection={
          <>
            <input
              ref={calendar}
              type="datetime-local"
              className="time-calendar"
              tabIndex={-1}
              aria-hidden="true"
              value={written ? clockText(value).replace(' ', 'T') : ''}
              onChange={onChange}
            />
            <button
              type="button"
              className="time-pick"
              tabIndex={-1}
              aria-label={phrase('Pick on a calendar')}
              onClick={() => calendar.current?.showPicker()}
            >
              <svg viewBox="0 0 14 14" width="14" height="14" aria-hidden="true">
                <path d="M1.5 3h11v9.5h-11zM1.5 6h11M4.5 1v3M9.5 1v3" fill="none" stroke="currentColor" />
              </svg>
            </button>
          </>
        }
      />
      {time?.occurs === 'twice' && (
        <NativeSelect
          aria-label={phrase('{name}: which of the two', { name })}
          value={value}
          data={[
            {
              value: clockText(value),
              label: phrase('{first} comes twice: which?', { first: withOffset(time.first, times.zone).slice(11, 16) }),
            },
            choice(time.first, 'first'),
            choice(time.second, 'second'),
          ]}
          onChange={onChange}
        />
      )}
    </>
  )
}
