import type { FindingCode, Said } from '#core/words/sentences/findings.ts'
import type { Facts } from '#core/words/sentences/sentence.ts'

/** What a stored finding says, from its columns. */
export const saidOf = ({ code, variant, facts }: { code: string; variant: string; facts: string }): Said => ({
  code: code as FindingCode,
  variant,
  facts: JSON.parse(facts) as Facts,
})
