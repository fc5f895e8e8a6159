import { Checkbox, NativeSelect, TextInput, type TextInputProps } from '@mantine/core'
import { changeParams, useAddress } from '#renderer/parts/address.ts'

/**
 * Marks a field that narrows what is shown: on paper one that is set stands as plain words, and any other is left out.
 */
export const narrows = (value: string | null) => ({ 'data-narrows': value === null || value === '' ? 'no' : 'yes' })

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
      wrapperProps={narrows(known ? chosen : null)}
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
  const value = useAddress().params.get(name) ?? ''
  return (
    <TextInput
      {...field}
      wrapperProps={narrows(value)}
      value={value}
      onChange={(event) => set(event.currentTarget.value)}
      onKeyDown={(event) => {
        if (event.key === 'Escape' && field.type === 'search') set(null)
        onKeyDown?.(event)
      }}
    />
  )
}

/** Something that is shown as well when it is ticked, likewise. */
export function AddressCheck({ name, label }: { readonly name: string; readonly label: string }) {
  const checked = useAddress().params.get(name) === 'yes'
  return (
    <Checkbox
      label={label}
      wrapperProps={narrows(checked ? 'yes' : null)}
      checked={checked}
      onChange={(event) => changeParams({ [name]: event.currentTarget.checked ? 'yes' : null })}
    />
  )
}
