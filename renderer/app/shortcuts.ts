import { useLocalStorage } from '@mantine/hooks'
import { useEffect, useEffectEvent, useRef } from 'react'
import { screens } from '#renderer/app/screens.tsx'
import { go, hrefOf, lastRosterHref } from '#renderer/parts/address.ts'

/** Keys without Ctrl can be switched off, for people who speak to their computer (WCAG 2.1.4). */
export const useSingleKeys = () =>
  useLocalStorage({ key: 'tareline-single-keys', defaultValue: true, getInitialValueInEffect: false })

const typing = (target: EventTarget | null) =>
  target instanceof HTMLElement && (target.isContentEditable || target.matches('input, textarea, select'))

interface Actions {
  quickOpen(): void
  help(): void
  person(): void
}

/** The keys that work on every screen. */
export function useShortcuts({ quickOpen, help, person }: Actions): void {
  const [singleKeys] = useSingleKeys()
  const afterG = useRef(false)
  const onKey = useEffectEvent((event: KeyboardEvent) => {
    if ((event.ctrlKey || event.metaKey) && !event.altKey && !event.shiftKey && event.key.toLowerCase() === 'k') {
      event.preventDefault()
      quickOpen()
      return
    }
    const followsG = afterG.current
    afterG.current = false
    if (
      !singleKeys ||
      event.ctrlKey ||
      event.metaKey ||
      event.altKey ||
      typing(event.target) ||
      document.querySelector('[role="dialog"]')
    )
      return
    const name = followsG && Object.keys(screens).find((screen) => screens[screen]?.letter === event.key)
    if (name) go(name === 'roster' ? lastRosterHref() : hrefOf(name))
    else if (event.key === '/') quickOpen()
    else if (event.key === '?') help()
    else if (event.key === 'p') person()
    else {
      afterG.current = event.key === 'g'
      return
    }
    event.preventDefault()
  })
  useEffect(() => {
    addEventListener('keydown', onKey)
    return () => removeEventListener('keydown', onKey)
  }, [])
}
