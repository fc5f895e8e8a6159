import { Button } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { mendedOnDesk } from '#core/words/desk.ts'
import { api } from '#renderer/client/api.ts'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { sayKept } from '#core/words/kept-phrase.ts'
import { phrase } from '#core/words/phrase.ts'

/** What of the open file was damaged and made anew, until somebody has seen it. */
export function MendedNotice() {
  const queries = useQueryClient()
  const state = useQuery(api.file.state.queryOptions())
  const seen = useMutation(
    api.desk.leave.mutationOptions({
      onSuccess: () => queries.invalidateQueries({ queryKey: api.file.state.key() }),
    }),
  )
  const mended = state.data?.mended ?? null
  if (mended === null) return null
  return (
    <Notice
      kind="problem"
      title={phrase('Part of the file was damaged and was rebuilt')}
      ways={
        <Button loading={seen.isPending} onClick={() => seen.mutate({ name: mendedOnDesk, text: null })}>
          {phrase('I have seen this')}
        </Button>
      }
    >
      <p>{sayKept(mended)}</p>
      <p>{phrase('Nothing that was saved is lost. Keep a copy on another disk too.')}</p>
      {seen.isError && <ProblemNotice title={phrase('The notice could not be put away')} error={seen.error} />}
    </Notice>
  )
}
