import { useQueryClient } from '@tanstack/react-query'
import type { ForeignOutcome } from '#core/api/foreign-contract.ts'
import { client } from '#renderer/client/api.ts'
import { importRun } from '#renderer/parts/import-run.ts'
import { saveRest } from './rest-file.ts'

type Input = Parameters<typeof client.foreign.bringIn>[0]

const foreignRun = importRun<ForeignOutcome>()
export const useForeignState = foreignRun.useState

/** Starts, cancels and forgets imports of foreign files; one runs at a time. */
export function useBringInForeign() {
  const queries = useQueryClient()
  return {
    bringIn: async (name: string, input: Input) => {
      await foreignRun.run(name, 'Opening the file', async (signal) => {
        const steps = await client.foreign.bringIn(input, { signal })
        return {
          next: async () => {
            const step = await steps.next()
            // Saved at once: what is left out is only here.
            if (step.done === true && step.value.outcome === 'stored' && step.value.rest !== null)
              saveRest(name, step.value.rest)
            return step
          },
        }
      })
      await queries.invalidateQueries()
    },
    cancel: foreignRun.cancel,
    forget: foreignRun.forget,
  }
}
