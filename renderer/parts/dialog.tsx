import { Modal, type ModalProps } from '@mantine/core'
import { useEffectEvent, useLayoutEffect, useState } from 'react'

interface Standing {
  readonly layer: number
  close(): void
}

/** The dialogs that stand open, in the order in which they opened: the last lies on top. */
const stack: Standing[] = []
/** Between what lies on the screen and the lists of fields, which open over the dialog that they are in. */
const lowestLayer = 200

/** Esc closes the dialog on top and no other. A list that is open in it closes first: its field says so. */
function closeTop({ key, isComposing, target }: KeyboardEvent): void {
  if (key !== 'Escape' || isComposing) return
  if (target instanceof Element && target.getAttribute('data-mantine-stop-propagation') === 'true') {
    const list = document.getElementById(target.getAttribute('aria-controls') ?? '')
    if (list?.checkVisibility()) return
  }
  stack.at(-1)?.close()
}

function stand(dialog: Standing): () => void {
  if (stack.length === 0) addEventListener('keydown', closeTop, { capture: true })
  stack.push(dialog)
  return () => {
    stack.splice(stack.indexOf(dialog), 1)
    if (stack.length === 0) removeEventListener('keydown', closeTop, { capture: true })
  }
}

/**
 * A window over the screen. Whichever opened last lies on top, wherever it stands in the page: a form may ask for the
 * name at the counter, whose dialog belongs to the frame. What is inside is made anew each time it opens.
 */
export function Dialog({ opened, onClose, children, ...modal }: ModalProps) {
  const [layer, setLayer] = useState(lowestLayer)
  const close = useEffectEvent(onClose)
  useLayoutEffect(() => {
    if (!opened) return
    const above = (stack.at(-1)?.layer ?? lowestLayer) + 1
    setLayer(above)
    return stand({ layer: above, close: () => close() })
  }, [opened])
  return (
    <Modal opened={opened} onClose={onClose} zIndex={layer} closeOnEscape={false} {...modal}>
      {opened && children}
    </Modal>
  )
}
