from tablesim.cli import main

main()
