import type { Trust } from '#core/findings/finding.ts'
import type { ReactNode } from 'react'
import './trust-mark.css'

/** One silhouette a state, told apart without colour: from a whole disc with its line, through a broken one, to an empty broken ring. */
const shapes: Record<Trust, ReactNode> = {
  sound: (
    <>
      <circle cx="8" cy="8" r="6.5" fill="currentColor" />
      <path d="M3.6 11.2 12.4 4.8" stroke="var(--t-surface)" strokeWidth="1.8" />
    </>
  ),
  'due soon': (
    <>
      <circle cx="8" cy="8" r="5.8" fill="none" stroke="currentColor" strokeWidth="1.5" />
      <path d="M8 2.2a5.8 5.8 0 0 1 0 11.6Z" fill="currentColor" />
    </>
  ),
  overdue: <path d="M1.8 2.6h12.4L8 14.4Z" fill="currentColor" />,
  doubtful: (
    <>
      <path d="M8 1.2 14.8 8 8 14.8 1.2 8Z" fill="none" stroke="currentColor" strokeWidth="1.6" />
      <circle cx="8" cy="8" r="2" fill="currentColor" />
    </>
  ),
  upset: <path d="M7 .8a6 6 0 0 0 0 12ZM9 3.2a6 6 0 0 1 0 12Z" fill="currentColor" />,
  uncalibrated: <circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" strokeWidth="2" strokeDasharray="4.6 3.25" />,
}

/** The shape of a trust state; it never stands without its word. */
export function TrustShape({ trust }: { trust: Trust }) {
  return (
    <svg className="trust-shape" data-trust={trust} viewBox="0 0 16 16" width="14" height="14" aria-hidden="true">
      {shapes[trust]}
    </svg>
  )
}

/** A trust state as shape and word; null is a unit without a sensed group. */
export function TrustMark({ trust }: { trust: Trust | null }) {
  if (trust === null) return <span className="trust-mark trust-none">not sensed</span>
  return (
    <span className="trust-mark">
      <TrustShape trust={trust} />
      {trust}
    </span>
  )
}
