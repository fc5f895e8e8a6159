import { type HTMLAttributes, type ReactNode, useId } from 'react'

interface SectionProps extends Omit<HTMLAttributes<HTMLElement>, 'title'> {
  readonly title: ReactNode
  readonly level?: 2 | 3
  /** What stands beside the heading. */
  readonly beside?: ReactNode
}

/** A part of a screen under its heading, by which it is heard. */
export function Section({ title, level = 2, beside, children, ...section }: SectionProps) {
  const id = useId()
  const Title = `h${level}` as const
  const heading = <Title id={id}>{title}</Title>
  return (
    <section aria-labelledby={id} {...section}>
      {beside === undefined ? (
        heading
      ) : (
        <div className="flow head">
          {heading}
          {beside}
        </div>
      )}
      {children}
    </section>
  )
}
