import { useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import type { RuleEffect, RuleRow } from '#core/api/contract.ts'
import { trustStates } from '#core/findings/finding.ts'
import { api } from '#renderer/client/api.ts'
import { count } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import { findingTitle } from '#renderer/parts/words.ts'

/** Long enough for the next keystroke. */
const restMs = 400

const groupsText = (groups: number) => `${count(groups)} ${groups === 1 ? 'group' : 'groups'}`

/** Groups by the trust they would come to, the worst first. */
function sentences({ groups, moves }: RuleEffect): string[] {
  if (groups === 0) return ['No group is sensed yet, so none is judged.']
  if (moves.length === 0) return [`No trust would change: ${groupsText(groups)} stay as they are.`]
  return trustStates.flatMap((to) => {
    const own = moves.filter((move) => move.to === to)
    const sum = own.reduce((total, move) => total + move.groups, 0)
    return sum === 0
      ? []
      : [
          `${groupsText(sum)} would become ${to} (${own.map(({ from, groups: some }) => `${count(some)} from ${from}`).join(', ')}).`,
        ]
  })
}

/** What the value that is being typed would do to the fleet, before it is saved. */
export function RuleEffectNote({ rule, value }: { rule: RuleRow; value: number }) {
  const [asked] = useDebouncedValue(value, restMs)
  const effect = useQuery(
    api.houseRules.tryOut.queryOptions({ input: { name: rule.name, value: asked }, enabled: !rule.shownOnly }),
  )
  if (rule.shownOnly)
    return (
      <p className="rule-effect quiet">
        Only what the screens show and read changes; the record and every judgement stay.
      </p>
    )
  if (effect.isError)
    return (
      <p className="rule-effect" role="alert">
        What it would do could not be judged: {problemText(effect.error)}
      </p>
    )
  if (!effect.data || asked !== value) return <output className="rule-effect quiet">Judging what it would do…</output>
  return (
    <output className="rule-effect">
      {sentences(effect.data).map((sentence) => (
        <span key={sentence}>{sentence} </span>
      ))}
      {effect.data.findings.length > 0 && (
        <span className="quiet">
          Findings:{' '}
          {effect.data.findings
            .map(({ code, before, after }) => `${findingTitle(code).toLowerCase()} ${count(before)} → ${count(after)}`)
            .join(', ')}
          .
        </span>
      )}
    </output>
  )
}
