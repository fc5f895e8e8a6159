import { Autocomplete, Button, TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import type { Step } from '#core/bench/steps.ts'
import { workKinds } from '#core/bench/visits.ts'
import type { UnitWorkView } from '#core/contracts/bench.ts'
import { sayWorkDue } from '#core/findings/next-due.ts'
import { api, client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Cautions } from '#renderer/parts/cautions.tsx'
import { chance, count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useSaveForm } from '#renderer/parts/save-form.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type CellToSwap, cellsOf } from './shop-view.ts'

const kindTitles = {
  cell: phrase('Swapping a cell'),
  recalibration: phrase('Recalibrating'),
  repair: phrase('Checking a finding'),
} as const

function Items({ items }: Pick<UnitWorkView, 'items'>) {
  if (items.length === 0)
    return (
      <p className="quiet">
        {phrase('Nothing is due: no sensor’s cell, no calibration line and no finding asks for work.')}
      </p>
    )
  return (
    <ul className="shop-items">
      {items.map(({ id, what, why, next, minutes, visitOn, risk, reason, ...due }) => (
        <li key={id}>
          {what}{' '}
          <span className="quiet">
            {phrase('due {reason}, {minutes} min{risk}{visitOn}', {
              reason: sayWorkDue(due),
              minutes: count(minutes),
              risk:
                risk !== null &&
                reason !== 'dead' &&
                phrase(', {risk} dead before the next visit', { risk: chance(risk) }),
              visitOn: visitOn !== null && phrase(', planned {visitOn}', { visitOn }),
            })}
          </span>
          <span className="shop-why">{phrase('Why: {why}', { why })}</span>
          <span className="shop-why">{phrase('Next: {next}', { next })}</span>
        </li>
      ))}
    </ul>
  )
}

/** A step with the way to the screen that does it. */
function StepText({ step: { text, doneOn }, unit }: { step: Step; unit: string }) {
  if (doneOn === null) return text
  const { screen, words } = doneOn
  const [before = '', ...after] = text.split(words)
  const href =
    screen === 'shop'
      ? hrefOf('shop', null, { unit, when: 'all' })
      : hrefOf(screen, screen === 'weigh-in' ? null : unit)
  return (
    <>
      {before}
      <a href={href}>{words}</a>
      {after.join(words)}
    </>
  )
}

function Cells({ cells }: Pick<UnitWorkView, 'cells'>) {
  if (cells.length === 0) return null
  return (
    <>
      <h4>{phrase('Cells')}</h4>
      <SheetTable
        className="shop-cells"
        rows={cells}
        keyOf={({ serial }) => serial}
        columns={[
          [
            phrase('Sensor'),
            ({ serial, group, circuit }) => (
              <>
                {serial}
                <br />
                <span className="quiet">
                  {group} {circuit}
                </span>
              </>
            ),
          ],
          [phrase('Cell'), ({ cell }) => cell ?? <span className="quiet">{phrase('unknown')}</span>],
          [
            phrase('Age'),
            ({ ageDays, installedOn, installAssumed }) => (
              <span
                title={phrase('In since {installedOn}{installAssumed}', {
                  installedOn,
                  installAssumed: installAssumed ? phrase(', counted from the mounting') : '',
                })}
              >
                {count(ageDays)} d
              </span>
            ),
            'figure',
          ],
          [phrase('Swap by'), ({ swapBy, now }) => (now ? phrase('now') : swapBy), 'nowrap'],
          [
            phrase('Risk'),
            ({ risk, nextVisitOn, visitAssumed, deadSince }) => {
              if (deadSince !== null) return phrase('dead since about {deadSince}', { deadSince })
              const which = visitAssumed
                ? phrase('the next visit as House Rules assume it')
                : phrase('the next planned visit')
              return (
                <span
                  title={phrase('Chance that it dies before {nextVisitOn}, {which}', {
                    nextVisitOn,
                    which,
                  })}
                >
                  {chance(risk)}
                </span>
              )
            },
            'figure',
          ],
          [phrase('State'), ({ state }) => word(state)],
        ]}
      />
    </>
  )
}

function PlanVisit({ unit, yards }: { unit: string; yards: readonly string[] }) {
  const form = useSaveForm({
    start: { on: '', yard: '' },
    save: ({ on, yard }, by) => client.bench.addVisit({ unit, yard: yard || null, on, by }),
    onSaved: () => form.type('on', ''),
  })
  return (
    <form ref={form.element} className="flow shop-plan-visit" onSubmit={form.submit} noValidate>
      <TextInput label={phrase('It comes in on')} type="date" {...form.field('on')} />
      <Autocomplete
        label={phrase('At yard')}
        placeholder={phrase('its own')}
        data={[...yards]}
        {...form.field('yard')}
        onChange={(text) => form.type('yard', text)}
      />
      <Button type="submit" disabled={form.values.on === ''} loading={form.isPending}>
        {phrase('Plan visit')}
      </Button>
      {form.failure && <ProblemNotice title={phrase('The visit was not planned')} error={form.failure} />}
    </form>
  )
}

interface UnitWorkProps {
  readonly unit: string
  readonly yards: readonly string[]
  readonly onSwap: (cells: readonly CellToSwap[]) => void
}

/** Cells of one unit in a few words. */
function ownCells(cells: readonly CellToSwap[]): string {
  return cells.every(({ reason }) => reason === 'dead')
    ? phrase('{cells, plural, one {its dead cell} other {its # dead cells}}', { cells: cells.length })
    : phrase('{cells, plural, one {its cell} other {its # cells}}', { cells: cells.length })
}

function Work({ unit, yards, onSwap, work }: UnitWorkProps & { work: UnitWorkView }) {
  const { items, cells, steps, plannedVisits, contradictions } = work
  const planned = cellsOf({ unit, items: items.filter(({ visitOn }) => visitOn !== null) })
  const swap =
    planned.length > 0
      ? planned
      : cells.map(
          ({ serial, group, circuit, deadSince }): CellToSwap => ({
            serial,
            place: `${unit} ${group} ${circuit}`,
            reason: deadSince === null ? 'scheduled' : 'dead',
          }),
        )
  const kinds = workKinds.filter((kind) => items.some((item) => item.kind === kind))
  return (
    <section className="shop-unit" aria-labelledby="shop-unit-title">
      <h2 id="shop-unit-title" tabIndex={-1}>
        {unit} <span className="quiet">{work.yard ?? phrase('no yard')}</span>
      </h2>
      <p>
        <a href={hrefOf('unit', unit)}>{phrase('Open the Unit sheet')}</a>
      </p>
      <Items items={items} />
      {swap.length > 0 && (
        <Button variant={planned.length > 0 ? 'filled' : 'default'} onClick={() => onSwap(swap)}>
          {phrase('Mark {swap} swapped', { swap: ownCells(swap) })}
        </Button>
      )}
      {contradictions.map(({ serial, at, message }) => (
        <p key={`${serial} ${at} ${message}`} className="shop-problem">
          {message}
        </p>
      ))}
      {items.length > 0 && <Cautions />}
      {kinds.map((kind) => (
        <div key={kind}>
          <h4>{kindTitles[kind]}</h4>
          <ol className="shop-steps">
            {(steps[kind] ?? []).map((step) => (
              <li key={step.text}>
                <StepText step={step} unit={unit} />
              </li>
            ))}
          </ol>
        </div>
      ))}
      <Cells cells={cells} />
      <h4>{phrase('Visits')}</h4>
      <p className="quiet">
        {plannedVisits.length === 0
          ? phrase('None planned.')
          : plannedVisits
              .map(({ on, yard }) => `${on}${yard === null ? '' : phrase(' at {yard}', { yard })}`)
              .join(', ')}
      </p>
      <PlanVisit unit={unit} yards={yards} />
    </section>
  )
}

/** One unit's work: what, by when, how, and what to mind first. */
export const UnitWork = (props: UnitWorkProps) => (
  <Answer
    to={useQuery(api.bench.unitWork.queryOptions({ input: { unit: props.unit } }))}
    waiting={phrase('Reading the unit’s work…')}
    failed={phrase('This unit’s work could not be read')}
  >
    {(work) => <Work {...props} work={work} />}
  </Answer>
)
