import { useEffect } from 'react'

const attribute = 'data-mantine-color-scheme'

/** Paper is white: what is printed is drawn in the light scheme, whatever the screen is in. */
export function usePrintInLight(): void {
  useEffect(() => {
    const root = document.documentElement
    let before: string | null = null
    const lighten = () => {
      before = root.getAttribute(attribute)
      root.setAttribute(attribute, 'light')
    }
    const putBack = () => {
      if (before !== null) root.setAttribute(attribute, before)
    }
    addEventListener('beforeprint', lighten)
    addEventListener('afterprint', putBack)
    return () => {
      removeEventListener('beforeprint', lighten)
      removeEventListener('afterprint', putBack)
    }
  }, [])
}
