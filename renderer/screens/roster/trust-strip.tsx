import { type Trust, trustStates } from '#core/findings/finding.ts'
import { count } from '#renderer/parts/format.ts'
import { TrustShape } from '#renderer/parts/trust-mark.tsx'
import { trustMeanings } from '#renderer/parts/words.ts'
import './trust-strip.css'

interface TrustStripProps {
  counts: Readonly<Record<Trust, number>>
  notSensed: number
  chosen: ReadonlySet<Trust>
  onChange: (chosen: ReadonlySet<Trust>) => void
}

/** How many units stand in each trust state, worst first; each count is a switch that filters the list. */
export function TrustStrip({ counts, notSensed, chosen, onChange }: TrustStripProps) {
  const total = trustStates.reduce((sum, trust) => sum + counts[trust], 0) + notSensed
  const toggle = (trust: Trust) => {
    const next = new Set(chosen)
    if (!next.delete(trust)) next.add(trust)
    onChange(next)
  }
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset is for form fields, these are switches
    <div className="strip" role="group" aria-label="Units by trust">
      {trustStates.map((trust) => (
        <button
          key={trust}
          type="button"
          className="strip-state"
          data-trust={trust}
          aria-pressed={chosen.has(trust)}
          title={trustMeanings[trust]}
          onClick={() => toggle(trust)}
        >
          <span className="strip-word">
            <TrustShape trust={trust} />
            {trust}
          </span>
          <span className="strip-count">{count(counts[trust])}</span>
          <svg className="strip-share" width="100%" height="3" aria-hidden="true">
            <rect width={`${total === 0 ? 0 : (100 * counts[trust]) / total}%`} height="3" />
          </svg>
        </button>
      ))}
      <div className="strip-total">
        <span className="strip-word">units</span>
        <span className="strip-count">{count(total)}</span>
        {notSensed > 0 && <span className="quiet">{count(notSensed)} not sensed</span>}
      </div>
    </div>
  )
}
