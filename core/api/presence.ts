/** A form of a record that somebody has open, by the name of its draft. */
export interface PresentForm {
  readonly form: string
  readonly by: string
}

/** Who has which form open just now. It is known as long as the program runs, and is written down nowhere. */
export interface Presence {
  /** Somebody has a form open, and says so again before `presentMs` are over; or has closed it. */
  say(present: PresentForm, open: boolean): void
  list(): PresentForm[]
}

/** A form that nobody has spoken of for so long is closed: its window is gone, or cut off. */
export const presentMs = 45_000
/** More forms than that are not told of: nobody has so many desks. */
const mostForms = 500
/** And of one person so many: whoever says more leaves room for the others. */
const mostOfPerson = 20

/** clock: ms that only ever grow. onChange: somebody has come to a form, or gone. */
export function openPresence(onChange: () => void, clock: () => number = () => performance.now()): Presence {
  const until = new Map<string, { readonly present: PresentForm; readonly at: number }>()
  const keyOf = ({ form, by }: PresentForm) => JSON.stringify([form, by])
  const list = () => {
    for (const [key, { at }] of until) if (at <= clock()) until.delete(key)
    return [...until.values()].map(({ present }) => present)
  }
  return {
    list,
    say: ({ form, by }, open) => {
      const key = keyOf({ form, by })
      const now = list()
      const had = now.some((each) => keyOf(each) === key)
      const own = now.filter((each) => each.by === by).length
      if (open && (had || (now.length < mostForms && own < mostOfPerson)))
        until.set(key, { present: { form, by }, at: clock() + presentMs })
      else until.delete(key)
      if (had !== until.has(key)) onChange()
    },
  }
}
