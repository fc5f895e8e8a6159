import { useEffect, useEffectEvent, useRef } from 'react'
import { screens } from '#renderer/app/screens.tsx'
import { go, hrefOf, lastRosterHref } from '#renderer/parts/address.ts'
import { useSingleKeys, worksAlone } from '#renderer/parts/single-keys.ts'

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
    if (!singleKeys || !worksAlone(event)) return
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
