import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { houseRuleDefinitions } from '#core/fleet/house-rules.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, moment } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SetAsideList } from '#renderer/parts/set-aside-list.tsx'
import { FleetFigures } from './fleet-figures.tsx'
import { ScaleTable, type UsualScale } from './scale-table.tsx'

/** The House Rules' scale; their defaults until the fleet's own have been read. */
function useUsualScale(): UsualScale {
  const rules = useQuery(api.houseRules.list.queryOptions()).data ?? []
  const ruleValue = (name: keyof typeof houseRuleDefinitions) =>
    rules.find((rule) => rule.name === name)?.value ?? houseRuleDefinitions[name].default
  return {
    divisionLb: ruleValue('scaleDivisionLb'),
    tolerancePercent: ruleValue('scaleTolerancePercent'),
    biasTolerances: ruleValue('scaleBiasTolerances'),
  }
}

/** The scales that tickets come from, and how far each can be believed. */
export function ScalesPart() {
  const list = useQuery(api.scales.list.queryOptions())
  const usual = useUsualScale()
  if (list.isPending) return <output>Reading the scales…</output>
  if (list.isError) {
    return (
      <ProblemNotice title="The scales could not be read" error={list.error}>
        <Button variant="default" onClick={() => list.refetch()}>
          Try again
        </Button>
      </ProblemNotice>
    )
  }
  const { scales, setAside, asOf, leveling, wander } = list.data
  if (scales.length === 0)
    return (
      <p>
        No scale is recorded. <a href={hrefOf('folder')}>Bring in a fleet folder</a> with scales.csv and tickets.csv.
      </p>
    )
  return (
    <>
      <p className="scales-words">
        A scale’s bias is what the tickets weighed on it have in common: the same units are weighed on several scales,
        so a line that is off shows on all of them, a scale that is off shows in all its units. It is counted from the
        middle one of the fleet’s scales; + means that it shows more. The bar reaches over ± 2u, the shaded part is the
        scale’s own tolerance; a scale surely beyond {usual.biasTolerances} times its tolerance is called biased.
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="scales-frame" aria-label="Scales and their bias" tabIndex={0}>
        <ScaleTable scales={scales} usual={usual} />
      </section>
      <SetAsideList setAside={setAside} />
      <h3>The fleet’s own figures</h3>
      <FleetFigures leveling={leveling} wander={wander} />
      <p className="quiet">
        {count(scales.length)} scales, judged {moment(asOf)}.
      </p>
    </>
  )
}
