import type { ScaleRow } from '#core/api/contract.ts'
import { ratio } from '#renderer/parts/format.ts'
import { toleranceVerdict } from '#renderer/parts/tolerance-verdict.ts'

const nbsp = '\u00a0'

/** A bias with its 95 % interval: `+0.85 ± 0.07 %`; null while too little is known. */
export function biasText({ biasPercent, uPercent }: ScaleRow): string | null {
  if (biasPercent === null || uPercent === null) return null
  return `${biasPercent > 0 ? '+' : ''}${ratio(biasPercent)} ±${nbsp}${ratio(2 * uPercent)}${nbsp}%`
}

/**
 * Where a bias stands: a finding names it biased; short of that it may still be surely beyond the scale's own
 * tolerance.
 */
export function biasVerdict(
  { finding }: ScaleRow,
  { value, u, tolerance }: { value: number; u: number; tolerance: number },
): string {
  if (finding !== null) return 'biased'
  return {
    'within tolerance': 'agrees',
    'beyond tolerance': 'beyond its tolerance',
    'too close to call': 'too close to call',
  }[toleranceVerdict(value, u, tolerance)]
}
