import { Checkbox } from '@mantine/core'
import { phrase } from '#core/words/phrase.ts'
import type { WeightColumn } from './visit-draft.ts'

/**
 * Which two groups stood on one platform and so have one weight between them. A group stands with one other at most: to
 * tick another pair of it, untick the first.
 */
export function OnePlatform({
  pairs,
  chosen,
  onChoose,
}: {
  pairs: readonly WeightColumn[]
  chosen: readonly string[]
  onChoose: (keys: readonly string[]) => void
}) {
  if (pairs.length === 0) return null
  const taken = new Set(pairs.filter(({ key }) => chosen.includes(key)).flatMap(({ groupIds }) => [...groupIds]))
  return (
    <fieldset className="flow visit-pairs">
      <legend>{phrase('Stood on one platform, one weight for both')}</legend>
      {pairs.map(({ key, unit, group, groupIds }) => {
        const on = chosen.includes(key)
        return (
          <Checkbox
            key={key}
            label={`${unit} ${group}`}
            checked={on}
            disabled={!on && groupIds.some((groupId) => taken.has(groupId))}
            onChange={() => onChoose(on ? chosen.filter((each) => each !== key) : [...chosen, key])}
          />
        )
      })}
    </fieldset>
  )
}
