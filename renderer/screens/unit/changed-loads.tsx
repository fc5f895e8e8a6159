import { useQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { counted } from '#renderer/parts/format.ts'

/** How many loads of the unit were called otherwise than they are now, with the way to them; nothing where none was. */
export function ChangedLoads({ unit }: { unit: string }) {
  const { data } = useQuery(api.heavy.list.queryOptions({ input: { unit, changed: true, limit: 1 } }))
  if (!data || data.total === 0) return null
  return (
    <p>
      Look-back: <a href={hrefOf('heavy', null, { unit, changed: 'yes' })}>{counted(data.total, 'verdict')}</a> of this
      unit’s loads {data.total === 1 ? 'has' : 'have'} changed since {data.total === 1 ? 'it was' : 'they were'} shown.
    </p>
  )
}
