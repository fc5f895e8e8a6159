import { TextInput, type TextInputProps } from '@mantine/core'
import { type Typed, typedProblem } from '#renderer/parts/format.ts'
import { UnlikelyNote } from '#renderer/parts/unlikely-note.tsx'

interface FigureFieldProps extends Pick<TextInputProps, 'label' | 'aria-label'> {
  readonly value: string
  readonly typed: Typed
  /** What is odd about the value, asked at once; it may be saved all the same. */
  readonly unlikely?: string | null
  readonly onType: (text: string) => void
}

/** A weight or a pressure off a ticket or a gauge, named by a label that is seen or only heard. */
export const FigureField = ({ typed, unlikely = null, onType, ...named }: FigureFieldProps) => (
  <TextInput
    inputMode="decimal"
    autoComplete="off"
    error={typedProblem(typed)}
    errorProps={{ role: 'alert' }}
    description={unlikely && <UnlikelyNote text={unlikely} />}
    inputWrapperOrder={['label', 'input', 'description', 'error']}
    onChange={(event) => onType(event.currentTarget.value)}
    {...named}
  />
)
