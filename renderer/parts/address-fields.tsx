import { Checkbox, NativeSelect, TextInput, type TextInputProps } from '@mantine/core'
import { changeParams, useAddress } from '#renderer/parts/address.ts'

interface AddressChoiceProps {
  readonly name: string
  /** What stands there while nothing is chosen. */
  readonly all: string
  readonly options: readonly (string | { readonly value: string; readonly label: string })[]
  /** How the field is called: seen, or heard only. */
  readonly label?: string
  readonly heard?: string
  /** Whether Back does not undo it. */
  readonly replace?: boolean
}

/** A choice that narrows what is shown. It is kept in the address under a name. */
export function AddressChoice({ name, all, options, heard, replace = false, ...field }: AddressChoiceProps) {
  const chosen = useAddress().params.get(name)
  const known = options.some((option) => (typeof option === 'string' ? option : option.value) === chosen)
  return (
    <NativeSelect
      {...field}
      aria-label={heard}
      value={known ? (chosen ?? '') : ''}
      data={[{ value: '', label: all }, ...options]}
      onChange={(event) => changeParams({ [name]: event.currentTarget.value }, { replace })}
    />
  )
}

/** A text or day that narrows what is shown, likewise; Esc empties a search. */
export function AddressText({ name, onKeyDown, ...field }: TextInputProps & { readonly name: string }) {
  const set = (text: string | null) => changeParams({ [name]: text }, { replace: true })
  return (
    <TextInput
      {...field}
      value={useAddress().params.get(name) ?? ''}
      onChange={(event) => set(event.currentTarget.value)}
      onKeyDown={(event) => {
        if (event.key === 'Escape' && field.type === 'search') set(null)
        onKeyDown?.(event)
      }}
    />
  )
}

/** Something that is shown as well when it is ticked, likewise. */
export const AddressCheck = ({ name, label }: { readonly name: string; readonly label: string }) => (
  <Checkbox
    label={label}
    checked={useAddress().params.get(name) === 'yes'}
    onChange={(event) => changeParams({ [name]: event.currentTarget.checked ? 'yes' : null })}
  />
)
