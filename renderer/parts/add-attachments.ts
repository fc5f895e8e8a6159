import { useQueryClient } from '@tanstack/react-query'
import { useEffect, useEffectEvent, useRef, useState } from 'react'
import { plainName, sizeProblem } from '#core/fleet/attachment-file.ts'
import { client } from '#renderer/client/api.ts'
import { day, pad } from '#renderer/parts/format.ts'
import { personNow } from '#renderer/parts/person.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'

/** What became of a file, as a sentence. */
interface Outcome {
  readonly kind: 'added' | 'same' | 'warning' | 'problem'
  readonly text: string
}
export interface Told extends Outcome {
  readonly place: number
}

async function send(ticketId: number, file: File, by: string): Promise<Outcome> {
  const name = plainName(file.name)
  // Said here: what is too long for a call is not sent at all.
  const unfit = sizeProblem(name, file.size)
  if (unfit) return { kind: 'problem', text: `Not added: ${unfit.message}` }
  try {
    const { added, name: kept, warning } = await client.attachment.add({ ticketId, file, by })
    if (!added)
      return {
        kind: 'same',
        text: kept === name ? `${name} is attached already.` : `${name} is attached already, as ${kept}.`,
      }
    return warning === null
      ? { kind: 'added', text: `Added ${kept}.` }
      : { kind: 'warning', text: `Added, but ${warning}` }
  } catch (error) {
    const why = problemText(error)
    return { kind: 'problem', text: why.startsWith(name) ? `Not added: ${why}` : `${name} was not added. ${why}` }
  }
}

/** Adds files to a ticket one after another; more may come while some are still being added. */
export function useAdding(ticketId: number) {
  const queries = useQueryClient()
  const [told, setTold] = useState<readonly Told[]>([])
  const [waiting, setWaiting] = useState(0)
  const last = useRef(Promise.resolve())
  const add = async (files: readonly File[]) => {
    const by = files.length === 0 ? null : await personNow()
    if (by === null) return
    if (waiting === 0) setTold([])
    setWaiting((before) => before + files.length)
    last.current = last.current.then(async () => {
      for (const file of files) {
        const outcome = await send(ticketId, file, by)
        setTold((before) => [...before, { ...outcome, place: before.length }])
        setWaiting((before) => before - 1)
      }
      await queries.invalidateQueries()
    })
  }
  return { add, told, waiting }
}

/** A clipboard calls every picture `image.png`: the moment tells them apart. */
function pastedName(name: string, now: Date): string {
  if (name !== 'image.png') return name
  return `pasted ${day(now.toISOString())} ${pad(now.getHours())}.${pad(now.getMinutes())}.${pad(now.getSeconds())}.png`
}

const isTyping = (target: EventTarget | null) =>
  target instanceof Element && target.closest('input, textarea, [contenteditable], [role="dialog"]') !== null

/**
 * Takes files that are dropped anywhere on the page, which would otherwise show the file in its place, or pasted where
 * nobody types. Answers whether some are held over it.
 */
export function usePageFiles(take: (files: readonly File[]) => void): boolean {
  const [isOver, setOver] = useState(false)
  const takeNow = useEffectEvent(take)
  useEffect(() => {
    const listening = new AbortController()
    const { signal } = listening
    const hasFiles = ({ dataTransfer }: DragEvent) => dataTransfer?.types.includes('Files') === true
    document.addEventListener(
      'dragover',
      (event) => {
        if (!hasFiles(event)) return
        event.preventDefault()
        setOver(true)
      },
      { signal },
    )
    document.addEventListener(
      'dragleave',
      ({ relatedTarget }) => {
        if (relatedTarget === null) setOver(false)
      },
      { signal },
    )
    document.addEventListener(
      'drop',
      (event) => {
        if (!hasFiles(event)) return
        event.preventDefault()
        setOver(false)
        takeNow([...(event.dataTransfer?.files ?? [])])
      },
      { signal },
    )
    document.addEventListener(
      'paste',
      ({ target, clipboardData }) => {
        const files = [...(clipboardData?.files ?? [])]
        if (files.length > 0 && !isTyping(target))
          takeNow(files.map((file) => new File([file], pastedName(file.name, new Date()), { type: file.type })))
      },
      { signal },
    )
    return () => listening.abort()
  }, [])
  return isOver
}
