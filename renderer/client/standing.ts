import { type ClientContext, type ClientLink, ORPCError } from '@orpc/client'
import { generateOperationKey } from '@orpc/tanstack-query'
import { hashKey } from '@tanstack/react-query'
import type { Standing } from '#core/contracts/people.ts'
import { isAtHouse } from '#renderer/client/pass.ts'
import { queryClient } from '#renderer/client/query-client.ts'

const standingKey = generateOperationKey(['people', 'standing'], { type: 'query' })

const keep = (standing: Standing) => queryClient.setQueryData(standingKey, standing)

/** Somebody has come in or gone: nothing that was asked for another person is shown to the next. */
export function standAs(person: Extract<Standing, { at: 'desk' }>['person']): void {
  queryClient.removeQueries({ predicate: ({ queryHash }) => queryHash !== hashKey(standingKey) })
  keep({ at: 'desk', person })
}

/** A way to the procedures that leads to the door when the house no longer knows who asks. */
export const noticingTheEnd = (link: ClientLink<ClientContext>): ClientLink<ClientContext> => ({
  call: async (path, input, options) => {
    try {
      return await link.call(path, input, options)
    } catch (error) {
      if (error instanceof ORPCError && error.status === 401 && isAtHouse()) keep({ at: 'desk', person: null })
      throw error
    }
  },
})
