import { type ReactNode, useEffect, useRef } from 'react'
import { hasMoved } from '#renderer/parts/address.ts'
import { phrase } from '#core/words/phrase.ts'

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

interface ScreenTitleProps {
  readonly children: ReactNode
  /** What the window is called meanwhile, where that is not the heading. */
  readonly tab?: string
}

/** The heading of a screen, read out on arrival, and the name of the window. */
export function ScreenTitle({ children, tab = String(children) }: ScreenTitleProps) {
  const ref = useArrival<HTMLHeadingElement>()
  return (
    <>
      <title>{phrase('{tab} · Tareline', { tab })}</title>
      <h1 ref={ref} tabIndex={-1} data-arrival>
        {children}
      </h1>
    </>
  )
}
