import { MantineProvider } from '@mantine/core'
import { QueryClientProvider } from '@tanstack/react-query'
import { StrictMode } from 'react'
import { queryClient } from '#renderer/client/query-client.ts'
import { AtTheDoor } from '#renderer/app/at-the-door.tsx'
import { Shell } from '#renderer/app/shell.tsx'
import { cssVariables, theme } from '#renderer/app/theme.ts'

export function App({ nonce }: { nonce: string }) {
  return (
    <StrictMode>
      <MantineProvider
        theme={theme}
        cssVariablesResolver={cssVariables}
        defaultColorScheme="auto"
        getStyleNonce={() => nonce}
      >
        <QueryClientProvider client={queryClient}>
          <AtTheDoor>
            <Shell />
          </AtTheDoor>
        </QueryClientProvider>
      </MantineProvider>
    </StrictMode>
  )
}
