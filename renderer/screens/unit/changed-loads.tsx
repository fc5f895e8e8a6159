import { hrefOf } from '#renderer/parts/address.ts'
import { counted } from '#renderer/parts/format.ts'

/** How many loads of the unit were called otherwise than they are now, with the way to them; nothing where none was. */
export function ChangedLoads({ unit, verdicts }: { unit: string; verdicts: number }) {
  if (verdicts === 0) return null
  return (
    <p>
      Look-back: <a href={hrefOf('heavy', null, { unit, changed: 'yes' })}>{counted(verdicts, 'verdict')}</a> of this
      unit’s loads {verdicts === 1 ? 'has' : 'have'} changed since {verdicts === 1 ? 'it was' : 'they were'} shown.
    </p>
  )
}
