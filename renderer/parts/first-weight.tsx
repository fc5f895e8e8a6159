import type { FirstSteps } from '#core/contracts/fleet.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { phrase } from '#core/words/phrase.ts'
import './first-weight.css'

type StepName = 'yard' | 'scale' | 'lead' | 'trailer' | 'weigh-in' | 'card'

/** One step on the way from an empty file to a weight. */
export interface FirstStep {
  readonly name: StepName
  readonly title: string
  readonly why: string
  readonly done: boolean
  /** Whether the first weight can do without it. */
  readonly optional: boolean
  readonly href: string
}

/** The steps in their order; each leads to a form that the app has anyway. */
export function firstStepsOf(found: FirstSteps): FirstStep[] {
  const onFleet = (add: StepName) => hrefOf('fleet', null, { add })
  return [
    {
      name: 'yard',
      title: phrase('Add a yard'),
      why: phrase('Where units are at home; absolute sensors need its elevation.'),
      done: found.yard,
      optional: true,
      href: onFleet('yard'),
    },
    {
      name: 'scale',
      title: phrase('Add the scale'),
      why: phrase('The certified scale that the tickets come from.'),
      done: found.scale,
      optional: false,
      href: onFleet('scale'),
    },
    {
      name: 'lead',
      title: phrase('Add a tractor or truck'),
      why: phrase('With its axle groups, circuits, sensors and cells, in one form.'),
      done: found.lead,
      optional: false,
      href: onFleet('lead'),
    },
    {
      name: 'trailer',
      title: phrase('Add a trailer'),
      why: phrase('Leave it out where the truck pulls none.'),
      done: found.trailer,
      optional: true,
      href: onFleet('trailer'),
    },
    {
      name: 'weigh-in',
      title: phrase('Type the tickets, make the line'),
      why: phrase('Two loads or more over the scale, each with the pressures of the same moment.'),
      done: found.line,
      optional: false,
      href: hrefOf('weigh-in'),
    },
    {
      name: 'card',
      title: phrase('Weigh, and print the cab card'),
      why: phrase('From here on a pressure is a weight.'),
      done: false,
      optional: false,
      href: found.weighs === null ? hrefOf('weigh') : hrefOf('weigh', found.weighs),
    },
  ]
}

/** What comes next: an optional step is passed over once a later one is done. */
export function nextOf(steps: readonly FirstStep[]): FirstStep | undefined {
  return steps.find(
    ({ done, optional }, place) => !done && !(optional && steps.slice(place + 1).some((later) => later.done)),
  )
}

/** A step as the title of its form: `Step 2 of 6: add the scale`. */
export function stepTitle(found: FirstSteps, name: StepName): string {
  const steps = firstStepsOf(found)
  const place = steps.findIndex((step) => step.name === name)
  const title = steps[place]?.title ?? ''
  return phrase('Step {place} of {steps}: {title}', {
    place: place + 1,
    steps: steps.length,
    title: title.charAt(0).toLowerCase() + title.slice(1),
  })
}

/** The step that follows one that has just been saved. */
export const stepAfter = (found: FirstSteps, saved: StepName): FirstStep | undefined => {
  const steps = firstStepsOf(found)
  return steps.slice(steps.findIndex(({ name }) => name === saved) + 1).find(({ done }) => !done)
}

/** The way to the first weight, step by step: what is done, what is next. */
export function FirstWeight({ found }: { found: FirstSteps }) {
  const steps = firstStepsOf(found)
  const next = nextOf(steps)
  return (
    <ol className="bare first-weight" aria-label={phrase('First weight')}>
      {steps.map((step, place) => (
        <li
          key={step.name}
          data-state={step.done ? 'done' : step === next ? 'next' : 'later'}
          aria-current={step === next ? 'step' : undefined}
        >
          <span className="first-mark" aria-hidden="true">
            {step.done ? '✓' : place + 1}
          </span>
          <span>
            {step.done ? step.title : <a href={step.href}>{step.title}</a>}
            <span className="unheard">{step.done ? phrase(', done') : step === next ? phrase(', next') : ''}</span>
            <br />
            <span className="quiet">{step.why}</span>
          </span>
        </li>
      ))}
    </ol>
  )
}

/** The same in one line, for screens on the way; nothing once a line is there. here: the step that the screen is. */
export function NextStepLine({ found, here }: { found: FirstSteps | undefined; here?: StepName }) {
  if (!found || found.line) return null
  const steps = firstStepsOf(found)
  const next = nextOf(steps)
  return (
    next && (
      <p className="first-line">
        <strong>{phrase('First weight')}</strong>{' '}
        <span className="quiet">
          {phrase('step {next} of {steps}:', { next: steps.indexOf(next) + 1, steps: steps.length })}
        </span>{' '}
        {next.name === here ? next.title : <a href={next.href}>{next.title}</a>}
      </p>
    )
  )
}
