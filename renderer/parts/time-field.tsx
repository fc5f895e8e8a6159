import type { ChangeEvent } from 'react'
import { NativeSelect, TextInput, type TextInputProps } from '@mantine/core'
import { useMeasures } from './format.ts'
import { type TimeText, clockText, withOffset } from './times.ts'

interface TimeFieldProps extends Omit<TextInputProps, 'value' | 'onChange' | 'type'> {
  readonly value: TimeText
  /** The element's value is the new text. */
  readonly onChange: (event: ChangeEvent<HTMLInputElement | HTMLSelectElement>) => void
}

/** A date and a time as the fleet's clocks show them; in the night when they show one twice, also which of the two. */
export function TimeField({ value, onChange, ...props }: TimeFieldProps) {
  const { times } = useMeasures()
  const time = times.clock(value)
  const name = props['aria-label'] ?? (typeof props.label === 'string' ? props.label : 'Time')
  const choice = (ms: number, which: string) => ({
    value: withOffset(ms, times.zone),
    label: `the ${which}, ${times.zoneAt(ms)}`,
  })
  return (
    <>
      <TextInput {...props} type="datetime-local" value={clockText(value)} onChange={onChange} />
      {time?.occurs === 'twice' && (
        <NativeSelect
          aria-label={`${name}: which of the two`}
          value={value}
          data={[
            { value: clockText(value), label: `${value.slice(11, 16)} comes twice: which?` },
            choice(time.first, 'first'),
            choice(time.second, 'second'),
          ]}
          onChange={onChange}
        />
      )}
    </>
  )
}
