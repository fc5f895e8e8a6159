import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import type { SafekeepingPage } from '#core/contracts/safekeeping.ts'
import { api } from '#renderer/client/api.ts'
import { Facts } from '#renderer/parts/facts.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { OutcomeMark } from '#renderer/parts/marks.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { PathForm } from '#renderer/parts/source-chooser.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Overdue } from './overdue.tsx'

type Second = NonNullable<SafekeepingPage['second']>

function Known({ second: { folder, newest, sameDisk, failure, overdueDays } }: { second: Second }) {
  const { times } = useMeasures()
  return (
    <>
      <Facts
        as="lines"
        facts={[
          [
            phrase('Folder'),
            <span key="folder" className="safekeeping-place">
              {folder}
            </span>,
          ],
          [
            phrase('Newest there'),
            newest === null
              ? phrase('none yet')
              : phrase('the copy of {madeAt}', { madeAt: times.moment(newest.madeAt) }),
          ],
          failure !== null && [
            phrase('Last attempt'),
            <>
              <OutcomeMark well={false} word={phrase('failed')} />
              {phrase('{failure} It is tried again every quarter of an hour.', { failure })}
            </>,
          ],
        ]}
      />
      {sameDisk === true && (
        <p>
          {phrase(
            'This folder is on the same disk as the fleet file: when that disk breaks, both are gone. A folder on another disk, a drive or a network share is safer.',
          )}
        </p>
      )}
      <Overdue days={overdueDays} what={phrase('No new copy has arrived there')} />
    </>
  )
}

/** A folder of the person's choice that the newest copies go to as well, and how that goes. */
export function SecondPlace({ page: { second, lastCopy } }: { page: SafekeepingPage }) {
  const choose = useMutation(api.safekeeping.chooseSecond.mutationOptions())
  const bring = useMutation(api.safekeeping.copyToSecond.mutationOptions())
  return (
    <Section className="section" title={phrase('A second place')}>
      <p>
        {phrase(
          'For a disk that breaks or a computer that is gone: the newest copy is brought to another disk, drive or network share as well, with its attachments, and read back there. A drive that is away keeps nobody from saving.',
        )}
      </p>
      {second && <Known second={second} />}
      {second && (
        <div className="flow">
          <Button disabled={lastCopy === null} loading={bring.isPending} onClick={() => bring.mutate(undefined)}>
            {phrase('Bring the newest copy there now')}
          </Button>
          <Button loading={choose.isPending} onClick={() => choose.mutate({ folder: null })}>
            {phrase('Bring no more copies there')}
          </Button>
        </div>
      )}
      <PathForm
        key={second?.folder ?? ''}
        label={second ? phrase('Another folder in its place') : phrase('Folder for the second copies')}
        placeholder={phrase('Full path of a folder on another disk')}
        action={second ? phrase('Use this one') : phrase('Keep copies there too')}
        busy={choose.isPending}
        onPath={(folder) => choose.mutate({ folder })}
      />
      {choose.isError && <ProblemNotice title={phrase('The second place was not changed')} error={choose.error} />}
      {bring.isError && <ProblemNotice title={phrase('The copy was not brought there')} error={bring.error} />}
    </Section>
  )
}
