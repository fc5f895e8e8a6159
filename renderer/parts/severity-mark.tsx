import type { Severity } from '#core/findings/finding.ts'
import type { ReactNode } from 'react'
import './trust-mark.css'

const shapes: Record<Severity, ReactNode> = {
  stop: <path d="M2 2h12v12H2Z" fill="currentColor" />,
  warn: <path d="M8 2 14.5 14h-13Z" fill="none" stroke="currentColor" strokeWidth="1.8" strokeLinejoin="round" />,
  note: <path d="M2 8h12" stroke="currentColor" strokeWidth="2.4" />,
}

/** How grave a finding is, as shape and word. */
export function SeverityMark({ severity }: { severity: Severity }) {
  return (
    <span className="severity-mark" data-severity={severity}>
      <svg viewBox="0 0 16 16" width="13" height="13" aria-hidden="true">
        {shapes[severity]}
      </svg>
      {severity}
    </span>
  )
}
