import { hrefOf } from '#renderer/parts/address.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

/** How many loads of the unit were called otherwise than they are now, with the way to them; nothing where none was. */
export function ChangedLoads({ unit, verdicts }: { unit: string; verdicts: number }) {
  if (verdicts === 0) return null
  return (
    <p>
      <Phrase
        text="Look-back: <link>{verdicts, plural, one {# verdict} other {# verdicts}}</link> of this unit’s loads {verdicts, plural, one {has} other {have}} changed since {verdicts, plural, one {it was} other {they were}} shown."
        with={{ link: (words) => <a href={hrefOf('heavy', null, { unit, changed: 'yes' })}>{words}</a>, verdicts }}
      />
    </p>
  )
}
