import { count, share } from '#renderer/parts/format.ts'
import { rateOf, type Tally } from './heavy-counts.ts'

export const TallyHeads = () => (
  <>
    <th scope="col" className="figure">
      Weighings
    </th>
    <th scope="col" className="figure">
      Over
    </th>
    <th scope="col" className="figure">
      of weighings
    </th>
    <th scope="col" className="figure">
      Too close
    </th>
  </>
)

/** How often something was weighed, and how often it was over or too close to call. */
export function TallyCells({ tally }: { tally: Tally }) {
  const { weighings, over, close } = tally
  return (
    <>
      <td className="figure">{count(weighings)}</td>
      <td className="figure">{count(over)}</td>
      <td className="figure">{share(rateOf(over, tally))}</td>
      <td className="figure">{count(close)}</td>
    </>
  )
}
