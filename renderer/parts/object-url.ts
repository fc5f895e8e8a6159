import { useEffect, useState } from 'react'

/** An address under which the page can show bytes that it holds; it is let go of with the component or the bytes. */
export function useObjectUrl(bytes: Blob | undefined): string | undefined {
  const [url, setUrl] = useState<string>()
  useEffect(() => {
    if (!bytes) return
    const made = URL.createObjectURL(bytes)
    setUrl(made)
    return () => {
      setUrl(undefined)
      URL.revokeObjectURL(made)
    }
  }, [bytes])
  return url
}
