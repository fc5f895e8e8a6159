import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { queryClient } from '#renderer/client/query-client.ts'

/** A label may go on behind a number with a comma, which is no part of a word. */
const wordsOf = (text: string) => text.replaceAll(',', ' ').trim()

/**
 * The units to choose from: all of a small fleet; of a larger one the first by number, or what is found by a typed
 * text, and the chosen ones with them. all: the same once it is known that there are no others; sought: takes what is
 * typed.
 */
export function usePickUnits(chosen: readonly string[]) {
  const [text, setText] = useState('')
  const first = useQuery(api.weigh.combinations.queryOptions())
  const asks = (words: string) =>
    first.data?.whole === false && (words !== '' || chosen.length > 0)
      ? api.weigh.combinations.queryOptions({ input: { text: words, units: [...chosen] } })
      : api.weigh.combinations.queryOptions()
  const found = useQuery({ ...asks(wordsOf(text)), placeholderData: keepPreviousData })
  return {
    // Where the house is away, there are still the first.
    picks: found.isError && first.data ? first : found,
    all: first.data?.whole === true ? first.data : undefined,
    sought: { search: setText, find: (typed: string) => queryClient.fetchQuery(asks(wordsOf(typed))) },
  }
}
