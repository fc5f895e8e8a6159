import { useInfiniteQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { Answer, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'

const logMs = 15_000

/** What has happened at the door, the newest first. */
export function DoorLog() {
  const { times } = useMeasures()
  const log = useInfiniteQuery(
    api.people.log.infiniteOptions({
      input: (after: number | undefined) => ({ ...(after === undefined ? {} : { after }), limit: 50 }),
      initialPageParam: undefined,
      getNextPageParam: ({ next }) => next ?? undefined,
      staleTime: 0,
      refetchInterval: logMs,
    }),
  )
  return (
    <>
      <Answer
        to={log}
        waiting={phrase('Reading the log of the door…')}
        failed={phrase('The log of the door could not be read')}
      />
      <SheetTable
        frame="people-log"
        caption={phrase('What has happened at the door')}
        rows={rowsOf(log)}
        keyOf={({ id }) => id}
        named={1}
        columns={[
          [phrase('When'), ({ at }) => times.moment(at), 'nowrap'],
          [phrase('What'), ({ what }) => what],
          [phrase('From'), ({ address }) => address || phrase('the house machine')],
        ]}
      />
      <ShowMore list={log} />
    </>
  )
}
