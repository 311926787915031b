"""closure"""
