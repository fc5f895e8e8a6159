import { NativeSelect, TextInput } from '@mantine/core'
import { type Role, roleWords, roles } from '#core/words/roles.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** What a person may do, as it is typed. */
export interface TypedRights {
  readonly role: Role
  /** Numbers of units with commas between them. */
  readonly units: string
}

export const unitsIn = (text: string): string[] =>
  text
    .split(',')
    .map((unit) => unit.trim())
    .filter((unit) => unit !== '')

export const typedRights = ({ role, units }: { role: Role; units: readonly string[] }): TypedRights => ({
  role,
  units: units.join(', '),
})

interface RightsFieldsProps {
  readonly value: TypedRights
  readonly onType: (rights: TypedRights) => void
}

/** A role, and of a driver the units. */
export const RightsFields = ({ value, onType }: RightsFieldsProps) => (
  <>
    <NativeSelect
      size="xs"
      label={phrase('Role')}
      value={value.role}
      data={roles.map((role) => ({ value: role, label: `${word(role)}: ${roleWords[role]}` }))}
      onChange={({ currentTarget }) =>
        onType({ ...value, role: roles.find((role) => role === currentTarget.value) ?? value.role })
      }
    />
    {value.role === 'driver' && (
      <TextInput
        className="people-wide"
        label={phrase('Units, with commas between them')}
        value={value.units}
        maxLength={4000}
        onChange={({ currentTarget }) => onType({ ...value, units: currentTarget.value })}
      />
    )}
  </>
)
