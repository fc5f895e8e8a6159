import { useQueryClient } from '@tanstack/react-query'
import { useEffect, useState } from 'react'
import type { CopyFacts, CopyRow, CopyVerdict } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { count, decimal } from '#renderer/parts/format.ts'
import { problemText } from '#renderer/parts/problem-notice.tsx'
import type { Times } from '#renderer/parts/times.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * As many whole copies as are looked for unasked, newest first: a copy is read through, which takes seconds where it is
 * large.
 */
const wholeWanted = 3

export type CopyCheck = CopyVerdict | 'checking' | undefined

/** Whether copies are whole: the newest are read through one after the other, any other when it is asked for. */
export function useCopyChecks(names: readonly string[]): {
  check: (name: string) => CopyCheck
  ask: (name: string) => void
} {
  const client = useQueryClient()
  const [checks, setChecks] = useState<ReadonlyMap<string, CopyVerdict | 'checking'>>(new Map())
  const set = (name: string, check: CopyVerdict | 'checking') => setChecks((known) => new Map(known).set(name, check))
  const read = async (name: string): Promise<CopyVerdict> => {
    set(name, 'checking')
    // A copy is asked for whatever the file is like, and its answer does not age.
    const verdict = await client
      .fetchQuery(api.copies.check.queryOptions({ input: { name } }))
      .catch((error: unknown) => ({ sound: false, message: problemText(error) }))
    set(name, verdict)
    return verdict
  }
  const key = names.join('\n')
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list is told by its names
  useEffect(() => {
    let isShown = true
    const readNewest = async () => {
      let whole = 0
      for (const name of names) {
        if (!isShown || whole === wholeWanted) return
        if ((await read(name)).sound) whole += 1
      }
    }
    void readNewest()
    return () => {
      isShown = false
    }
  }, [key])
  return { check: (name) => checks.get(name), ask: (name) => void read(name) }
}

/** Why a copy was kept, in words. */
export const reasonWords: Readonly<Record<CopyRow['reason'], string>> = {
  day: phrase('Day’s copy'),
  'before-import': phrase('Before an import'),
  'before-update': phrase('Before an update of the app'),
  'before-restore': phrase('Before a restore'),
  'by-hand': phrase('By hand'),
  rescued: phrase('Rescued: the file was taken away'),
  other: phrase('Put there by someone'),
}

/** A size as people compare them: KB up to a megabyte, then MB. */
const sizeText = (bytes: number): string =>
  bytes < 1e6
    ? phrase('{size}\u00a0KB', { size: count(Math.max(1, bytes / 1e3)) })
    : phrase('{size}\u00a0MB', { size: decimal(bytes / 1e6) })

export const countText = (known: number | null): string => (known === null ? phrase('unknown') : count(known))
const timeText = (known: string | null, { units }: CopyFacts, times: Times): string =>
  known !== null ? times.moment(known) : units === null ? phrase('unknown') : phrase('none')

/** What is told of a file in a row or beside another, each with its heading. */
const factColumns: readonly {
  readonly label: string
  readonly isFigure: boolean
  readonly text: (facts: CopyFacts, times: Times) => string
}[] = [
  { label: phrase('Units'), isFigure: true, text: ({ units }) => countText(units) },
  { label: phrase('Tickets'), isFigure: true, text: ({ tickets }) => countText(tickets) },
  { label: phrase('Readings'), isFigure: true, text: ({ readings }) => countText(readings) },
  { label: phrase('Calibrations'), isFigure: true, text: ({ calibrations }) => countText(calibrations) },
  { label: phrase('Attachments'), isFigure: true, text: ({ attachments }) => countText(attachments) },
  {
    label: phrase('Newest weighing'),
    isFigure: false,
    text: (facts, times) => timeText(facts.newestWeighingAt, facts, times),
  },
  { label: phrase('Last change'), isFigure: false, text: (facts, times) => timeText(facts.lastChangeAt, facts, times) },
  { label: phrase('Size'), isFigure: true, text: ({ bytes }) => sizeText(bytes) },
]

/** The columns that say something about some files: attachments only where there are any. */
export const columnsFor = (files: readonly CopyFacts[]) =>
  factColumns.filter(({ label }) => label !== 'Attachments' || files.some(({ attachments }) => (attachments ?? 0) > 0))

export const fileName = (path: string): string => path.split(/[\\/]/).at(-1) ?? path
