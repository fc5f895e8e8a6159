import { type ReactNode, useEffect, useRef } from 'react'
import { hasMoved, hrefOf } from '#renderer/parts/address.ts'

/** A ticket by its number and scale, as a way to it in the Scale House. */
export const TicketLink = ({ number, scale }: { number: string; scale: string | null }) => (
  <>
    <a href={hrefOf('scale-house', 'tickets', { text: [number, scale].filter(Boolean).join(' ') })}>{number}</a>
    {scale !== null && <span className="quiet">, {scale}</span>}
  </>
)

/**
 * Where the focus goes on arrival at a screen. The frame moves it when the address changes; what appears only later,
 * once its data is there, takes it over if nothing else has it. At the first opening the focus stays where it is.
 */
export function useArrival<T extends HTMLElement>() {
  const ref = useRef<T>(null)
  useEffect(() => {
    const { activeElement } = document
    if (hasMoved() && (activeElement === document.body || activeElement?.id === 'main'))
      ref.current?.focus({ preventScroll: true })
  }, [])
  return ref
}

/** The heading of a screen, read out on arrival. */
export function ScreenTitle({ children }: { children: ReactNode }) {
  const ref = useArrival<HTMLHeadingElement>()
  return (
    <h1 ref={ref} tabIndex={-1} data-arrival>
      {children}
    </h1>
  )
}
