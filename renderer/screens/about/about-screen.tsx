import { Button, Checkbox } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AboutFacts } from '#core/api/about-contract.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { ScreenTitle } from '#renderer/parts/arrival.tsx'
import { NotForTrade } from '#renderer/parts/not-for-trade.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { Licences } from './licences.tsx'
import '#renderer/parts/notice.css'
import '#renderer/parts/sheet-table.css'
import './about-screen.css'

function Facts({ facts }: { facts: AboutFacts }) {
  const { version, step, sqlite, node, electron, chromium, system, file, logFolder } = facts
  return (
    <dl className="about-facts">
      <dt>Tareline</dt>
      <dd>{version}</dd>
      <dt>Fleet file format</dt>
      <dd>step {step}</dd>
      <dt>SQLite</dt>
      <dd>{sqlite}</dd>
      <dt>Node</dt>
      <dd>{node}</dd>
      <dt>Window</dt>
      <dd>{electron === null ? 'the installed browser' : `Electron ${electron}, Chromium ${chromium ?? 'unknown'}`}</dd>
      <dt>System</dt>
      <dd>{system}</dd>
      <dt>Fleet file</dt>
      <dd className="about-path">
        {file} <a href={hrefOf('copies')}>its copies</a>
      </dd>
      <dt>Log</dt>
      <dd className="about-path">{logFolder}</dd>
    </dl>
  )
}

function SupportBundle() {
  const [withFleet, setWithFleet] = useState(false)
  const saving = useMutation(api.about.supportBundle.mutationOptions({ onSuccess: saveFile }))
  return (
    <section className="about-section" aria-labelledby="support-title">
      <h2 id="support-title">Support bundle</h2>
      <p>
        One ZIP file for whoever helps you: the versions above, the log, and of the fleet file its size, whether it is
        whole and how many rows its tables have. The log holds no names, units, plates or folders. Nothing is sent
        anywhere: you save the file and decide who gets it.
      </p>
      <Checkbox
        checked={withFleet}
        onChange={(event) => setWithFleet(event.currentTarget.checked)}
        size="sm"
        label="With a copy of the whole fleet file"
        description="Units, plates, weights and the names of people are then in the bundle."
      />
      <Button className="about-button" loading={saving.isPending} onClick={() => saving.mutate({ withFleet })}>
        Save the support bundle
      </Button>
      {saving.isError && <ProblemNotice title="The bundle was not saved" error={saving.error} />}
      {saving.data && (
        <p role="status">
          Saved as {saving.data.name}
          {saving.variables.withFleet ? ', with the fleet file in it.' : ', without fleet data.'}
        </p>
      )}
    </section>
  )
}

/** What runs here, where its files lie, what to give to whoever helps, and whose work is in it. */
export function AboutScreen() {
  const facts = useQuery(api.about.facts.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="about">
      <title>About · Tareline</title>
      <ScreenTitle>About Tareline</ScreenTitle>
      <p className="about-words">
        Keeps a fleet’s onboard axle weights honest. Everything stays on this computer: the app calls no other.
      </p>
      {facts.isPending && <output className="quiet">Looking at what runs here…</output>}
      {facts.isError && (
        <ProblemNotice title="The versions could not be read" error={facts.error}>
          <Button variant="default" onClick={() => facts.refetch()}>
            Try again
          </Button>
        </ProblemNotice>
      )}
      {facts.data && <Facts facts={facts.data} />}
      <NotForTrade />
      <SupportBundle />
      <Licences />
    </div>
  )
}
