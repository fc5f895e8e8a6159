import { Button, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import type { EvidenceListInput } from '#core/api/evidence-contract.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { count, type Quantity } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

type Filter = Pick<EvidenceListInput, 'text' | 'unit'>

/** What the address narrows a list to. */
export function useListFilter(): Filter {
  const { params } = useAddress()
  const [text] = useDebouncedValue(params.get('text')?.trim() ?? '', 200)
  const [unit] = useDebouncedValue(params.get('unit')?.trim() ?? '', 300)
  return { ...(text === '' ? {} : { text }), ...(unit === '' ? {} : { unit }) }
}

/** The last row of the page before. */
export type After = EvidenceListInput['after']

/** How a list goes on from page to page, and what it shows meanwhile. */
export const pageAfterPage = {
  initialPageParam: undefined as After,
  getNextPageParam: ({ next }: { readonly next: NonNullable<After> | null }) => next ?? undefined,
  placeholderData: keepPreviousData,
}

interface Pages<Row> {
  readonly data: { readonly pages: readonly { readonly rows: readonly Row[] }[] } | undefined
  readonly isPending: boolean
  readonly error: unknown
  readonly hasNextPage: boolean
  readonly isFetchingNextPage: boolean
  readonly fetchNextPage: () => Promise<unknown>
}

interface EvidenceListProps<Row> {
  readonly list: Pages<Row>
  /** What the search looks in. */
  readonly searched: string
  readonly none: string
  readonly caption: string
  readonly head: ReactNode
  readonly row: (row: Row) => ReactNode
}

/** A long list, newest first, narrowed by a text and a unit, page after page. */
export function EvidenceList<Row>({ list, searched, none, caption, head, row }: EvidenceListProps<Row>) {
  const { params } = useAddress()
  const set = (name: string) => (event: { currentTarget: { value: string } }) =>
    changeParams({ [name]: event.currentTarget.value || null }, { replace: true })
  const rows = list.data?.pages.flatMap((page) => page.rows) ?? []
  return (
    <>
      <search className="evidence-filters">
        <TextInput
          type="search"
          label="Find"
          placeholder={searched}
          value={params.get('text') ?? ''}
          onChange={set('text')}
        />
        <TextInput label="Unit" value={params.get('unit') ?? ''} onChange={set('unit')} />
      </search>
      {list.error !== null && (
        <ProblemNotice title="The list could not be read" error={list.error}>
          <Button variant="default" onClick={() => changeParams({ unit: null, text: null })}>
            Clear the search
          </Button>
        </ProblemNotice>
      )}
      {list.isPending && <output>Reading the record…</output>}
      {list.data && rows.length === 0 && (
        <p className="sheet-none">{params.get('text') || params.get('unit') ? 'Nothing matches.' : none}</p>
      )}
      {rows.length > 0 && (
        <>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
          <section className="scales-frame" aria-label={caption} tabIndex={0}>
            <table className="sheet-table">
              <caption className="unheard">{caption}</caption>
              <thead>
                <tr>{head}</tr>
              </thead>
              <tbody>{rows.map(row)}</tbody>
            </table>
          </section>
          <p className="quiet">
            {count(rows.length)} shown, newest first.{' '}
            {list.hasNextPage && (
              <Button variant="default" loading={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
                Show more
              </Button>
            )}
          </p>
        </>
      )}
    </>
  )
}

/** Weights or pressures, each with the place that it is of. */
export function Places({
  parts,
  quantity,
}: {
  parts: readonly { readonly place: string; readonly value: number }[]
  quantity: Quantity
}) {
  return (
    <ul className="evidence-places">
      {parts.map(({ place, value }) => (
        <li key={place}>
          <span className="quiet">{place}</span> {quantity.text(value)}
        </li>
      ))}
    </ul>
  )
}
