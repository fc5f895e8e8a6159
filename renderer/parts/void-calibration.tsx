import { useState } from 'react'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { LinkButton } from '#renderer/parts/links.tsx'
import { useMay } from '#renderer/parts/rights.ts'
import { ReasonForm } from '#renderer/parts/save-form.tsx'
import { phrase } from '#core/words/phrase.ts'

interface VoidCalibrationProps {
  readonly name: string
  readonly onVoid: (answer: { reason: string; by: string }) => Promise<unknown>
}

/** Takes a calibration out of use, with a reason, where that is open to whoever is here. */
export const VoidCalibration = (props: VoidCalibrationProps) =>
  useMay()('weighIn.voidCalibration') && <Voiding {...props} />

function Voiding({ name, onVoid }: VoidCalibrationProps) {
  const [opened, setOpened] = useState(false)
  const close = () => setOpened(false)
  return (
    <>
      <LinkButton asks about={phrase('the calibration of {name}', { name })} onClick={() => setOpened(true)}>
        {phrase('Void')}
      </LinkButton>
      <Dialog opened={opened} onClose={close} title={phrase('Void the calibration of {name}', { name })} size="md">
        <ReasonForm
          empty={phrase('say what is wrong with this calibration.')}
          saveLabel={phrase('Void the calibration')}
          failed={phrase('The calibration was not voided')}
          onSave={onVoid}
          onDone={close}
          onCancel={close}
        >
          <p>
            {phrase(
              'A calibration is never edited. Voided, it stays in the list with its reason, its line is used no more, and the one before takes over. It can be undone, and made again from tickets on record.',
            )}
          </p>
        </ReasonForm>
      </Dialog>
    </>
  )
}
