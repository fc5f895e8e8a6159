import { createORPCClient } from '@orpc/client'
import type { ContractRouterClient } from '@orpc/contract'
import { createTanstackQueryUtils } from '@orpc/tanstack-query'
import type { contract } from '#core/api/contract.ts'
import { makeLink } from '#renderer/client/link.ts'

/** The typed procedures, to be called as functions: for streams and single steps. */
export const client: ContractRouterClient<typeof contract> = createORPCClient(makeLink())

/** The same for screens: `queryOptions`, `mutationOptions` and `key` of each procedure. */
export const api = createTanstackQueryUtils(client)
