import { Button } from '@mantine/core'
import type { ReactNode } from 'react'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'

interface Question<D> {
  readonly data: D
  readonly isLoading: boolean
  readonly isError: boolean
  readonly error: unknown
  readonly refetch: () => unknown
}

interface AnswerProps<D> {
  readonly to: Question<D>
  /** What is said while the answer is on its way. */
  readonly waiting: string
  /** What is said where it did not come. */
  readonly failed: string
  /** Another way on than to ask again. */
  readonly way?: ReactNode
  readonly children?: (answer: Exclude<D, undefined>) => ReactNode
}

/** What came of a question: that it is being answered, why it was not, and the answer as far as it is there. */
export function Answer<D>({ to, waiting, failed, way, children }: AnswerProps<D>) {
  return (
    <>
      {to.isLoading && <output className="quiet">{waiting}</output>}
      {to.isError && (
        <ProblemNotice title={failed} error={to.error}>
          {way ?? <Button onClick={() => to.refetch()}>{phrase('Try again')}</Button>}
        </ProblemNotice>
      )}
      {to.data !== undefined && children?.(to.data as Exclude<D, undefined>)}
    </>
  )
}

/** A list that is asked for page after page. */
export interface Pages<Row>
  extends Question<{ readonly pages: readonly { readonly rows: readonly Row[] }[] } | undefined> {
  readonly hasNextPage: boolean
  readonly isFetchingNextPage: boolean
  readonly fetchNextPage: () => Promise<unknown>
}

/** The rows of all pages that are there. */
export const rowsOf = <Row,>({ data }: Pages<Row>): readonly Row[] => data?.pages.flatMap(({ rows }) => rows) ?? []

/** Asks for the next page, as long as there is one. */
export const ShowMore = ({ list }: { readonly list: Pages<unknown> }) =>
  list.hasNextPage && (
    <Button loading={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
      {phrase('Show more')}
    </Button>
  )
