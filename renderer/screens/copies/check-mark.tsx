import type { CopyCheck } from './copy-checks.ts'

/** Whether a copy is whole, as shape and word; asked for where nobody has looked yet. */
export function CheckMark({ check, onAsk, about }: { check: CopyCheck; onAsk: () => void; about: string }) {
  if (check === undefined)
    return (
      <button type="button" className="link" onClick={onAsk}>
        Check<span className="unheard"> {about}</span>
      </button>
    )
  if (check === 'checking') return <span className="quiet">checking…</span>
  return (
    <span className="check-mark" data-sound={check.sound}>
      <svg viewBox="0 0 16 16" width="13" height="13" aria-hidden="true">
        <path
          d={check.sound ? 'M2.5 8.5 6.5 12.5 13.5 3.5' : 'M3 3 13 13M13 3 3 13'}
          fill="none"
          stroke="currentColor"
          strokeWidth="2.2"
        />
      </svg>
      {check.sound ? 'whole' : 'damaged'}
    </span>
  )
}
