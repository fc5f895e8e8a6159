import { useLocalStorage } from '@mantine/hooks'
import { useEffect, useEffectEvent, useRef } from 'react'

/** Keys without Ctrl can be switched off, for people who speak to their computer (WCAG 2.1.4). */
export const useSingleKeys = () =>
  useLocalStorage({ key: 'tareline-single-keys', defaultValue: true, getInitialValueInEffect: false })

const typing = (target: EventTarget | null) =>
  target instanceof HTMLElement &&
  (target.isContentEditable || target.matches('textarea, select, input:not([type="checkbox"], [type="radio"])'))

/** Whether a key that works alone means this one: nobody types, and no dialog stands open. */
export const worksAlone = (event: KeyboardEvent): boolean =>
  !event.ctrlKey &&
  !event.metaKey &&
  !event.altKey &&
  !typing(event.target) &&
  document.querySelector('[role="dialog"]') === null

/** Keys that work alone on one screen, each with what it does; none of them one that works everywhere. */
export function useScreenKeys(keys: Readonly<Record<string, () => void>>): void {
  const [singleKeys] = useSingleKeys()
  const afterG = useRef(false)
  const onKey = useEffectEvent((event: KeyboardEvent) => {
    // After g a key goes to another screen.
    const followsG = afterG.current
    afterG.current = event.key === 'g'
    const act = !followsG && Object.hasOwn(keys, event.key) ? keys[event.key] : undefined
    if (!act || !singleKeys || !worksAlone(event)) return
    event.preventDefault()
    act()
  })
  useEffect(() => {
    addEventListener('keydown', onKey)
    return () => removeEventListener('keydown', onKey)
  }, [])
}
