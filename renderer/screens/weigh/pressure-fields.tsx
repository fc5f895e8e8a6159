import { TextInput } from '@mantine/core'
import { useMeasures } from '#renderer/parts/format.ts'
import { typedProblem } from '#renderer/parts/typed-quantity.ts'
import type { AskedCircuit } from './typed-reading.ts'

interface PressureFieldsProps {
  circuits: readonly AskedCircuit[]
  pressures: Readonly<Record<string, string>>
  onType: (key: string, text: string) => void
}

/** One field a circuit, in the order of the axles; in the unit in use unless another is typed with the number. */
export function PressureFields({ circuits, pressures, onType }: PressureFieldsProps) {
  const { pressure } = useMeasures()
  return (
    <fieldset className="weigh-pressures">
      <legend>
        Pressures, {pressure.symbol} <span className="quiet">(or type the unit: 82 psi, 5.6 bar, 560 kPa)</span>
      </legend>
      {circuits.map(({ key, unit, group, circuit, serial, absolute, typed }) => (
        <div key={key} className="weigh-pressure">
          <label htmlFor={`psi-${key}`}>
            {unit} {group} <span className="quiet">{circuit}</span>
          </label>
          <TextInput
            id={`psi-${key}`}
            inputMode="decimal"
            autoComplete="off"
            value={pressures[key] ?? ''}
            error={typedProblem(typed)}
            errorProps={{ role: 'alert' }}
            onChange={(event) => onType(key, event.currentTarget.value)}
          />
          <span className="quiet weigh-sensor">
            {serial === null ? 'no sensor' : `${serial}${absolute ? ', absolute' : ''}`}
          </span>
        </div>
      ))}
    </fieldset>
  )
}
