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
            'Folder',
            <span key="folder" className="safekeeping-place">
              {folder}
            </span>,
          ],
          ['Newest there', newest === null ? 'none yet' : `the copy of ${times.moment(newest.madeAt)}`],
          failure !== null && [
            'Last attempt',
            <>
              <OutcomeMark well={false} word="failed" />
              {failure} It is tried again every quarter of an hour.
            </>,
          ],
        ]}
      />
      {sameDisk === true && (
        <p>
          This folder is on the same disk as the fleet file: when that disk breaks, both are gone. A folder on another
          disk, a drive or a network share is safer.
        </p>
      )}
      <Overdue days={overdueDays} what="No new copy has arrived there" />
    </>
  )
}

/** A folder of the person's choice that the newest copies go to as well, and how that goes. */
export function SecondPlace({ page: { second, lastCopy } }: { page: SafekeepingPage }) {
  const choose = useMutation(api.safekeeping.chooseSecond.mutationOptions())
  const bring = useMutation(api.safekeeping.copyToSecond.mutationOptions())
  return (
    <Section className="section" title="A second place">
      <p>
        For a disk that breaks or a computer that is gone: the newest copy is brought to another disk, drive or network
        share as well, with its attachments, and read back there. A drive that is away keeps nobody from saving.
      </p>
      {second && <Known second={second} />}
      {second && (
        <div className="flow">
          <Button disabled={lastCopy === null} loading={bring.isPending} onClick={() => bring.mutate(undefined)}>
            Bring the newest copy there now
          </Button>
          <Button loading={choose.isPending} onClick={() => choose.mutate({ folder: null })}>
            Bring no more copies there
          </Button>
        </div>
      )}
      <PathForm
        key={second?.folder ?? ''}
        label={second ? 'Another folder in its place' : 'Folder for the second copies'}
        placeholder="Full path of a folder on another disk"
        action={second ? 'Use this one' : 'Keep copies there too'}
        busy={choose.isPending}
        onPath={(folder) => choose.mutate({ folder })}
      />
      {choose.isError && <ProblemNotice title="The second place was not changed" error={choose.error} />}
      {bring.isError && <ProblemNotice title="The copy was not brought there" error={bring.error} />}
    </Section>
  )
}
