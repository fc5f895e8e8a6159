import { Button } from '@mantine/core'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useMemo } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { api } from '#renderer/client/api.ts'
import { usePickUnits } from '#renderer/client/pick-units.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { unitsOf } from '#renderer/parts/combination-picker.tsx'
import { useDraft } from '#renderer/parts/draft.ts'
import { type VisitDraft, startedVisit } from './visit-draft.ts'
import { VisitHead } from './visit-head.tsx'

/** A visit to a scale as it is kept under a name: what can be chosen, what was, and the record of the chosen units. */
export function useVisitStart(name: string, empty: VisitDraft) {
  const draft = useDraft<VisitDraft>(name, empty)
  const { picks, all, sought } = usePickUnits(unitsOf(draft.value))
  const scales = useQuery(api.scales.list.queryOptions())
  const scaleNames = useMemo(() => scales.data?.scales.map(({ scale }) => scale) ?? [], [scales.data])
  const visit = useMemo(() => startedVisit(draft, all, scaleNames), [draft, all, scaleNames])
  const units = unitsOf(visit)
  const prepared = useQuery(
    api.weighIn.prepare.queryOptions({
      input: { units },
      enabled: units.length > 0,
      placeholderData: keepPreviousData,
    }),
  )
  const ready = units.length > 0 && prepared.data && !prepared.isPlaceholderData ? prepared.data : null
  return { draft, picks, sought, scales, scaleNames, visit, units, prepared, ready }
}

type VisitStart = ReturnType<typeof useVisitStart>

interface VisitChoiceProps {
  of: Pick<VisitStart, 'picks' | 'sought' | 'scales' | 'scaleNames' | 'visit'>
  onChange: (change: Partial<VisitDraft>) => void
}

/** The units and the scale to choose, once what there is has been read. */
export const VisitChoice = ({ of: { picks, sought, scales, scaleNames, visit }, onChange }: VisitChoiceProps) => (
  <>
    <Answer to={picks} waiting={phrase('Reading the units…')} failed={phrase('The units could not be read')} />
    <Answer to={scales} waiting={phrase('Reading the scales…')} failed={phrase('The scales could not be read')} />
    {picks.data && scales.data && (
      <VisitHead picks={picks.data} sought={sought} scales={scaleNames} visit={visit} onChange={onChange} />
    )}
  </>
)

/** What stands where the fields of the visit will be, as long as they cannot. */
export const VisitWait = ({
  of: { prepared, units, draft },
}: {
  of: Pick<VisitStart, 'prepared' | 'units' | 'draft'>
}) => (
  <>
    <Answer
      to={prepared}
      waiting={phrase('Reading their record…')}
      failed={phrase('These units cannot be weighed in')}
      way={<Button onClick={draft.clear}>{phrase('Clear')}</Button>}
    />
    {units.length === 0 && <p className="quiet">{phrase('Choose the units that stand on the scale.')}</p>}
  </>
)
