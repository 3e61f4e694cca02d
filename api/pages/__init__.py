"""The pages for people: sign in, trees, due list, loads, orders, projects."""
