import { isAtHouse } from '#renderer/client/pass.ts'

const link = (rel: string, href: string) => {
  const element = document.createElement('link')
  element.rel = rel
  element.href = href
  document.head.append(element)
}

/**
 * At a desk of a house: offers the window as an app of its own, and, on what is held in a hand, has its files kept for
 * where there is no network.
 */
export function offerInstalling(): void {
  if (!isAtHouse()) return
  link('manifest', '/tareline.webmanifest')
  link('apple-touch-icon', '/icon-192.png')
  if (!('serviceWorker' in navigator) || !matchMedia('(pointer: coarse)').matches) return
  // A browser that does not trust the house's certificate keeps none of its files; all else works.
  navigator.serviceWorker.register('/service-worker.js', { scope: '/', updateViaCache: 'none' }).catch(() => undefined)
}
