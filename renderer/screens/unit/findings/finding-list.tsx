import { Button } from '@mantine/core'
import type { FindingView } from '#core/contracts/unit.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { client } from '#renderer/client/api.ts'
import { Cautions } from '#renderer/parts/cautions.tsx'
import { DismissFinding } from '#renderer/parts/dismiss-finding.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { SeverityMark } from '#renderer/parts/marks.tsx'
import { fixHref, fixWords } from '#renderer/parts/offered-fix.ts'
import { findingTitle } from '#core/findings/finding-title.ts'
import { LinkButton, TicketLink } from '#renderer/parts/links.tsx'
import { phrase } from '#core/words/phrase.ts'
import './finding-list.css'
import { findingNumbers } from './finding-words.ts'

/** Findings that are put right at the scale or on paper; every other one may send someone to work on the vehicle. */
const paperWork: ReadonlySet<FindingCode> = new Set([
  'age-over-limit',
  'age-near-limit',
  'two-point-line',
  'short-span',
  'uncertainty-over-tolerance',
  'ticket-sum-mismatch',
  'digits-transposed',
  'groups-swapped',
  'wrong-pressure-unit',
  'lift-state-mismatch',
  'one-circuit-read',
  'follows-weather',
  'scale-biased',
])

function Where({
  finding: { group, circuit, scale, ticket, ticketId },
  onChooseGroup,
}: {
  finding: FindingView
  onChooseGroup: (name: string) => void
}) {
  const rest = [circuit && phrase('circuit {circuit}', { circuit }), ticket ? null : scale].filter(Boolean).join(', ')
  return (
    <span className="finding-where">
      {group !== null && <LinkButton onClick={() => onChooseGroup(group)}>{group}</LinkButton>}
      {group !== null && rest && ', '}
      {rest}
      {ticket !== null && (
        <>
          {phrase('{group}ticket', { group: (group !== null || rest) && ', ' })}{' '}
          <TicketLink id={ticketId} number={ticket} scale={scale} />
        </>
      )}
    </span>
  )
}

function Finding({ finding, onChooseGroup }: { finding: FindingView; onChooseGroup: (name: string) => void }) {
  const measures = useMeasures()
  const { code, severity, since, numbers, message, nextStep, fix } = finding
  return (
    <li className="finding" data-severity={severity}>
      <div className="finding-head">
        <SeverityMark severity={severity} />
        <h3>{findingTitle(code)}</h3>
        <Where finding={finding} onChooseGroup={onChooseGroup} />
      </div>
      <p>{message}</p>
      <p className="finding-next">
        <span className="quiet">{phrase('Next:')} </span>
        {nextStep}
        {fix && (
          <>
            {' '}
            <Button component="a" href={fixHref(fix)}>
              {fixWords(fix, measures)}
            </Button>
          </>
        )}
      </p>
      <details>
        <summary>{phrase('Figures')}</summary>
        <Facts
          as="pairs"
          facts={[
            since !== null && [phrase('since'), measures.times.day(since)],
            ...findingNumbers(numbers, measures).map(({ label, text }) => [label, text] as const),
          ]}
        />
      </details>
      {severity !== 'stop' && (
        <DismissFinding
          title={findingTitle(code)}
          message={message}
          focusAfter="findings"
          returnsWith={phrase('another weighing, calibration or event of this group')}
          onDismiss={(dismissal) => client.finding.dismiss({ id: finding.id, ...dismissal })}
        />
      )}
    </li>
  )
}

/** What the evidence says about the unit, worst first, and what to do; with the cautions where a wrench may follow. */
export function FindingList({
  findings,
  onChooseGroup,
}: {
  findings: readonly FindingView[]
  onChooseGroup: (name: string) => void
}) {
  if (findings.length === 0) return <p className="sheet-none">{phrase('No problems found.')}</p>
  return (
    <>
      <ol className="findings">
        {findings.map((finding) => (
          <Finding key={finding.id} finding={finding} onChooseGroup={onChooseGroup} />
        ))}
      </ol>
      {findings.some(({ code }) => !paperWork.has(code)) && <Cautions />}
    </>
  )
}
