import { Button } from '@mantine/core'
import { hrefOf } from '#renderer/parts/address.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { phrase } from '#core/words/phrase.ts'
import { CalibrationsPart, ReadingsPart, TicketsPart } from './evidence-lists.tsx'
import './scale-house-screen.css'
import { ScalesPart } from './scales-part.tsx'

const parts = {
  scales: { label: phrase('Scales'), component: ScalesPart },
  tickets: { label: phrase('Tickets'), component: TicketsPart },
  readings: { label: phrase('Readings'), component: ReadingsPart },
  calibrations: { label: phrase('Calibrations'), component: CalibrationsPart },
} as const

const isPart = (name: string | null): name is keyof typeof parts => name !== null && Object.hasOwn(parts, name)

/** Scale House: the evidence behind every line, and how far the scales that it comes from can be believed. */
export function ScaleHouseScreen({ subject }: { subject: string | null }) {
  const name = isPart(subject) ? subject : 'scales'
  const { label, component: Part } = parts[name]
  return (
    <div className="page scales">
      <div className="flow scale-house-head">
        <ScreenTitle tab={phrase('{label} · Scale House', { label })}>{phrase('Scale House')}</ScreenTitle>
        <nav className="scale-house-parts" aria-label={phrase('Parts of the Scale House')}>
          {Object.entries(parts).map(([part, each]) => (
            <a key={part} href={hrefOf('scale-house', part)} aria-current={part === name ? 'page' : undefined}>
              {each.label}
            </a>
          ))}
        </nav>
        <Button component="a" href={hrefOf('weigh-in')}>
          {phrase('Enter tickets at the Weigh-in')}
        </Button>
        <Button component="a" href={hrefOf('calibrate')}>
          {phrase('Calibrate from the record')}
        </Button>
        <Button component="a" href={hrefOf('foreign')}>
          {phrase('Import a CSV file')}
        </Button>
      </div>
      <section aria-labelledby="part-title">
        <h2 id="part-title" tabIndex={-1}>
          {label}
        </h2>
        <Part />
      </section>
    </div>
  )
}
