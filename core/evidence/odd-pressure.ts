import type { GroupFacts } from '#core/evidence/history.ts'
import { type LineCircuits, type PressureReading, mountAt } from '#core/evidence/read-pressure.ts'
import { mostPsi } from '#core/words/sentences/unlikely.ts'

/** Whether a circuit of a line reads more than its sensor can show: such a pressure was never there. */
export const isBeyondSensor = (
  { circuits }: Pick<GroupFacts, 'circuits'>,
  line: Pick<LineCircuits, 'circuits'>,
  { psi, takenAt }: Pick<PressureReading, 'psi' | 'takenAt'>,
): boolean =>
  line.circuits.some((place) => {
    const circuit = circuits[place]
    const shown = psi[place] ?? null
    return circuit !== undefined && shown !== null && shown > mostPsi(mountAt(circuit, takenAt)?.rangePsi ?? null)
  })
